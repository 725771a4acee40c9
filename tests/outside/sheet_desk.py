"""The desk's side, played with general-purpose libraries: templates and what people do to sheets."""
import os
import subprocess

import openpyxl
import yaml
from openpyxl.utils import coordinate_to_tuple

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, os.environ.get("PROGRAM", "build/bin/portmuster"))
NOW = ["--now", "2026-10-20T12:00:00Z"]
DEMO = os.path.join(ROOT, "data", "demo", "fleet", "tb-11-pellarn-weir.yaml")
LAYOUT = os.path.join(ROOT, "data", "sheets", "tavrane-desk.yaml")


def run(*args, stdin=None):
    """Exit status, standard output as bytes, standard error as text."""
    result = subprocess.run([PROGRAM] + list(args), input=stdin, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    return result.returncode, result.stdout, result.stderr.decode()


def read(path, mode="rb"):
    with open(path, mode, **({} if "b" in mode else {"encoding": "utf-8"})) as file:
        return file.read()


def load(path):
    return yaml.safe_load(read(path, "r"))


def write(path, text):
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def books(folder):
    """A folder for layouts: beside the jobs they would be the jobs' own."""
    path = os.path.join(folder, "books")
    os.makedirs(path, exist_ok=True)
    return path


def template(layout, path):
    """An empty workbook as a desk would make one for the layout: titles in bold, texts around, a page of notes."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for section in layout["sections"]:
        page = book[section["page"]] if section["page"] in book.sheetnames else book.create_sheet(section["page"])
        row, column = coordinate_to_tuple(section["first"])
        for offset, each in enumerate(section["columns"]):
            cell = page.cell(row - 1, column + offset, each["title"])
            cell.font = openpyxl.styles.Font(bold=True)
        if row > 2:
            page.cell(row - 2, column, "Section " + section["section"])
    book.create_sheet("Notes")["A1"] = "for the desk's own use"
    book.save(path)


def cells(section, count):
    """The places of a section's rows in the workbook, row by row, as (title, cell name)."""
    row, column = coordinate_to_tuple(section["first"])
    for offset in range(count):
        yield [(each["title"], openpyxl.utils.get_column_letter(column + at) + str(row + offset))
               for at, each in enumerate(section["columns"])]


class Cases:
    """Prints a line a case; `failed` tells whether one did."""
    def __init__(self):
        self.failed = False

    def check(self, name, good, *details):
        print("%s %s" % ("ok" if good else "not ok", name))
        if not good:
            self.failed = True
            for each in details:
                print("# " + str(each)[-3000:].replace("\n", "\n# "))
        return good
