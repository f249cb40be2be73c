"""The desk: the page served on this machine alone, with files dropped on it.

A case is what lies together: logs, sheets, what somebody said of them. `case` holds its settings,
`work` reads them into a statement, `drawer` keeps all cases and their jobs, `whatif` rehearses
edits on them, `paper` writes what a page of the desk has beside the statement, `app` answers
requests behind `guard`, `serve` runs it. Its modules for the browser lie in `web`.
"""
