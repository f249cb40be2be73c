"""Workbooks written by independent libraries, for tests."""

from pathlib import Path
from typing import Any

from odf.opendocument import OpenDocumentSpreadsheet
from odf.table import Table, TableCell, TableRow
from odf.text import P
from openpyxl import Workbook

Sheets = dict[str, list[list[Any]]]


def xlsx(path: Path, sheets: Sheets) -> Path:
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.save(path)
    return path


def ods(path: Path, sheets: Sheets) -> Path:
    book = OpenDocumentSpreadsheet()
    for name, rows in sheets.items():
        sheet = Table(name=name)
        for row in rows:
            line = TableRow()
            for cell in row:
                if isinstance(cell, bool) or not isinstance(cell, int | float):
                    kept = TableCell(valuetype="string")
                    kept.addElement(P(text=str(cell)))
                else:
                    kept = TableCell(valuetype="float", value=repr(cell))
                line.addElement(kept)
            sheet.addElement(line)
        book.spreadsheet.addElement(sheet)
    book.save(str(path))
    return path
