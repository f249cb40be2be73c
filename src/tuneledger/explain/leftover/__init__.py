"""What could have posted what no computable part of a sheet posts: one finder per file.

Every finder has the same signature, `find(book, account, laid) -> tuple[Extra, ...]`, and speaks
only for rows in which something is left over.
"""
