"""The desk's side, played with general-purpose libraries: templates and what people do to sheets."""
import os
import re
import subprocess

import openpyxl
import yaml
from openpyxl.utils import coordinate_to_tuple

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
PROGRAM = os.path.join(ROOT, os.environ.get("PROGRAM", "build/bin/portmuster"))
NOW = ["--now", "2026-10-20T12:00:00Z"]
DEMO = os.path.join(ROOT, "data", "demo", "fleet", "tb-11-pellarn-weir.yaml")
LAYOUT = os.path.join(ROOT, "data", "sheets", "tavrane-desk.yaml")
GEAR = os.path.join(ROOT, "data", "gear", "eg-12.yaml")


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


def own_layout(workbook):
    """The text of the layout, with another workbook."""
    text, count = re.subn(r'\nworkbook: "[^"]*"', '\nworkbook: "%s"' % workbook, read(LAYOUT, "r"))
    assert count == 1
    return text


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


class Facts:
    """What a job says, worked out here from the YAML alone: the readings of the demo agree, the first will do."""
    def __init__(self, path):
        self.job, self.gear = load(path), load(GEAR)
        self.read = {}
        for reading in self.job["readings"]:
            self.read.setdefault(reading["of"], reading["value"])

    def value(self, fill, rows, record):
        site, attached = self.job["site"], self.job.get("attached", [])
        port = self.gear["ports"][record] if rows == "port" else {}
        device = attached[record] if rows == "attached" else {}
        if fill.startswith("text/"):
            return fill[5:]
        return {
            "site/code": site["code"], "site/name": site.get("name"), "site/unit": self.read.get("site/unit"),
            "site/parent": self.read.get("site/parent"), "router/serial": self.read.get("router/serial"),
            "router/gear": self.job["gear"], "old/serial": self.read.get("old/serial", site.get("old-serial")),
            "row/name": port.get("name") or device.get("name"), "row/panel": port.get("panel"), "row/kind": device.get("kind"),
            "row/serial": device.get("serial"),
            "row/address": self.read.get("port/" + port["name"]) if port else device.get("address"),
        }[fill] or ""

    def count(self, rows):
        return {"port": len(self.gear["ports"]), "attached": len(self.job.get("attached", []))}.get(rows, 1)


def digits(text):
    return re.sub("[-:. ]", "", text).upper()


def compare(facts, layout, rows_of):
    """Differences between the facts of jobs, in order, and the rows of each section."""
    wrong = []
    for section in layout["sections"]:
        expected = [(each, record) for each in facts for record in range(each.count(section["rows"]))]
        found = rows_of(section, len(expected))
        if len(found) != len(expected):
            wrong.append("section %s has %d rows, not %d" % (section["section"], len(found), len(expected)))
        for (each, record), row in zip(expected, found):
            for column in section["columns"]:
                fill, cell = column["fill"], row[column["title"]]
                if fill in ("empty", "seal", "row/check"):
                    continue
                right = each.value(fill, section["rows"], record)
                if fill == "row/address":
                    if digits(cell) != digits(right) or (cell and re.sub("[0-9A-F]", "9", cell.upper()) != re.sub("[0-9A-F]", "9", column["example"].upper())):
                        wrong.append("%s: %r for %r" % (column["title"], cell, right))
                elif cell != right:
                    wrong.append("%s: %r for %r" % (column["title"], cell, right))
    return wrong


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
