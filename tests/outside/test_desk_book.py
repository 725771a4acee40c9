"""The invented desk's workbook: remade from its layout, read by openpyxl, filled from the demo and the practice site."""
import os
import re
import subprocess
import sys
import tempfile
import zipfile

import openpyxl
from openpyxl.utils import coordinate_to_tuple

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
import make_desk_book  # noqa: E402
import sheet_desk  # noqa: E402
from sheet_desk import DEMO, LAYOUT, NOW, PROGRAM, ROOT, Facts, compare, load, read, run, write  # noqa: E402

BOOK = os.path.join(os.path.dirname(LAYOUT), "tavrane-desk.xlsx")
SHARE = os.path.join(ROOT, os.environ.get("SHARE", "build/share/portmuster"))
FLEET = os.path.dirname(DEMO)


def parts_of(path):
    with zipfile.ZipFile(path) as package:
        return [(each.filename, each.date_time, package.read(each)) for each in package.infolist()]


def check_remade(cases, folder):
    again = os.path.join(folder, "again.xlsx")
    make_desk_book.make(again)
    kept, made = parts_of(BOOK), parts_of(again)
    cases.check("the script makes the same parts again", kept == made, [a[0] for a, b in zip(kept, made) if a != b], len(kept), len(made))
    cases.check("no part says when it was made", {date for _, date, _ in kept} == {make_desk_book.MADE})
    for name in ("tavrane-desk.xlsx", "tavrane-desk.yaml"):
        cases.check("what is installed has %s" % name, read(os.path.join(SHARE, "sheets", name)) == read(os.path.join(os.path.dirname(LAYOUT), name)))


def check_shape(cases):
    """What a desk's workbook has, and this one is for trying out."""
    book, layout = openpyxl.load_workbook(BOOK), load(LAYOUT)
    named = list(dict.fromkeys(section["page"] for section in layout["sections"]))
    cases.check("instructions, the layout's pages, a hidden one", book.sheetnames == ["Instructions"] + named + ["Lists"]
                and [page.sheet_state for page in book] == ["visible"] * (1 + len(named)) + ["hidden"], book.sheetnames)
    wrong = []
    for section in layout["sections"]:
        page = book[section["page"]]
        row, column = coordinate_to_tuple(section["first"])
        for at, each in enumerate(section["columns"]):
            cell = page.cell(row - 1, column + at)
            if cell.value != each["title"] or not cell.font.b or cell.border.left.style != "thin" or page.cell(row, column + at).number_format != "@":
                wrong.append((section["section"], cell.coordinate, cell.value))
        heading = "A%d:%s%d" % (row - 2, openpyxl.utils.get_column_letter(len(section["columns"])), row - 2)
        if page.cell(row - 2, 1).value != section["heading"] or heading not in [str(each) for each in page.merged_cells.ranges]:
            wrong.append((section["section"], heading))
    cases.check("titles and merged headings stand where the layout says", not wrong, *wrong)
    rules = {page.title: [(each.type, each.formula1, str(each.sqref)) for each in page.data_validations.dataValidation] for page in book}
    cases.check("a kind is one of a list, an address has 17 characters",
                rules["Attached"] == [("list", "kinds", "C4:C400")] and rules["Interfaces"] == [("textLength", "17", "D4:D400")], rules)
    kinds = {each.value for each in book["Lists"]["A"][1:]}
    jobs = [os.path.join(FLEET, name) for name in sorted(os.listdir(FLEET)) if name.startswith("tb-")]
    used = {each["kind"] for path in jobs for each in load(path).get("attached", [])}
    cases.check("every kind of the demo is on the list", used and used <= kinds, used, kinds)
    formulas = [cell.value for line in book["Instructions"].iter_rows() for cell in line if cell.data_type == "f"]
    cases.check("formulas count what was entered", len(formulas) == 3 and all(re.fullmatch(r"=COUNTA\(\w+![A-Z]\d+:[A-Z]\d+\)", each) for each in formulas), formulas)


def rows_in(book):
    def rows_of(section, count):
        page = book[section["page"]]
        return [{title: page[cell].value or "" for title, cell in row} for row in sheet_desk.cells(section, count)]
    return rows_of


def check_filled(cases, folder):
    layout, out = load(LAYOUT), os.path.join(folder, "tb-11.xlsx")
    status, said, err = run("sheet", *NOW, DEMO, "--out", out)
    cases.check("a job of the demo fleet fills it, and there is nothing to say", status == 0 and err == "" and b"TB-11  seal " in said, said, err)
    book = openpyxl.load_workbook(out)
    wrong = compare([Facts(DEMO)], layout, rows_in(book))
    cases.check("openpyxl reads the job's facts back", not wrong, *wrong)
    status, said, err = run("sheet", "--verify", out, DEMO)
    cases.check("the filled workbook agrees with the job", status == 0 and b"agrees" in said, said, err)
    status, said, err = run("seal", DEMO, out)
    cases.check("and has the job's seal", status == 0 and b"the same facts" in said and b"NOT" not in said, said, err)
    before, after = parts_of(BOOK), parts_of(out)
    changed = [a[0] for a, b in zip(before, after) if a[2] != b[2]]
    cases.check("three pages change, every other part stays", [a[0] for a in before] == [b[0] for b in after]
                and changed == ["xl/worksheets/sheet%d.xml" % at for at in (2, 3, 4)], changed)
    count = book["Instructions"]["B11"].value
    cases.check("the formula still counts", count == "=COUNTA(Interfaces!D4:D400)"
                and sum(1 for cell in book["Interfaces"]["D"][3:400] if cell.value) == len(load(os.path.join(ROOT, "data", "gear", "eg-12.yaml"))["ports"]), count)
    styles = {book["Interfaces"].cell(row, 4).number_format for row in (4, 8, 16)}
    cases.check("cells with a frame and cells without are text", styles == {"@"}, styles)
    page = book["Interfaces"]
    page["D7"] = page["D7"].value[:-1] + "F"
    book.save(out)
    status, said, err = run("sheet", "--verify", out, DEMO)
    cases.check("a digit that was changed there is named", status == 1 and b"Interfaces!D7" in said and said.count(b"stop ") == 1, said, err)


def check_fleet(cases, folder):
    """Every job of the demo fleet that is so far, in one workbook."""
    ready = []
    for name in sorted(os.listdir(FLEET)):
        path = os.path.join(FLEET, name)
        if name.startswith("tb-") and run("sheet", *NOW, path, "--out", os.path.join(folder, name + ".xlsx"))[0] == 0:
            ready.append(path)
    out = os.path.join(folder, "fleet.xlsx")
    status, said, err = run("sheet", *NOW, *ready, "--out", out)
    cases.check("%d jobs of the demo fleet fill one workbook" % len(ready), len(ready) >= 4 and status == 0, said, err)
    wrong = compare([Facts(path) for path in ready], load(LAYOUT), rows_in(openpyxl.load_workbook(out)))
    cases.check("openpyxl reads the facts of all of them back", not wrong, *wrong)
    status, said, err = run("sheet", "--verify", out, *ready)
    cases.check("and it agrees with them", status == 0, said, err)


def check_practice(cases, folder):
    site = os.path.join(folder, "practice")
    status, _, err = run("new", "--practice", site)
    cases.check("the practice site carries layout and workbook", status == 0 and read(os.path.join(site, "sheets", "tavrane-desk.xlsx")) == read(BOOK)
                and read(os.path.join(site, "sheets", "tavrane-desk.yaml")) == read(LAYOUT), err)
    job, out = os.path.join(site, "site.yaml"), os.path.join(site, "site.xlsx")
    run("walk", "--answers", os.path.join(site, "answers.yaml"), job, stdin=b"")
    written = os.path.join(site, "site-sheet.xlsx")
    cases.check("the walk writes the desk's workbook", os.path.exists(written) and not os.path.exists(written[:-5] + ".csv"), os.listdir(site))
    status, said, err = run("sheet", job, "--out", out)
    cases.check("so does the command", status == 0 and err == "" and b"TB-00" in said, said, err)
    for path in (written, out):
        wrong = compare([Facts(job)], load(LAYOUT), rows_in(openpyxl.load_workbook(path)))
        status, said, err = run("sheet", "--verify", path, job)
        cases.check("%s agrees with the job" % os.path.basename(path), status == 0 and not wrong, said, err, *wrong)
    # somebody's own layout among the installed ones is not the practice site's
    data = os.path.join(folder, "data")
    subprocess.run(["cp", "-r", SHARE, data], check=True)
    write(os.path.join(data, "sheets", "another.yaml"), sheet_desk.own_layout("another.xlsx").replace('"tavrane-desk"', '"another"'))
    result = subprocess.run([PROGRAM, "sheet", job, "--out", out], env=dict(os.environ, PORTMUSTER_DATA=data), stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    cases.check("beside another desk's layout the practice site keeps its own", result.returncode == 0 and b"layout tavrane-desk" in result.stdout,
                result.stdout, result.stderr)


def main():
    cases = sheet_desk.Cases()
    with tempfile.TemporaryDirectory() as folder:
        check_remade(cases, folder)
        check_shape(cases)
        check_filled(cases, folder)
        check_fleet(cases, folder)
        check_practice(cases, folder)
    return cases.failed


sys.exit(main())
