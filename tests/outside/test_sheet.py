"""The sheet as the desk gets it: read back by Python's csv and openpyxl, held against facts that PyYAML reads."""
import csv
import io
import json
import os
import re
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
import zipfile

import openpyxl

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, HERE)
import sheet_desk  # noqa: E402
from sheet_desk import DEMO, LAYOUT, NOW, Facts, books, compare, digits, load, own_layout, read, run, write  # noqa: E402


def csv_rows(text, layout):
    """The rows of each section of a CSV sheet, found by counting from its titles."""
    records = list(csv.reader(io.StringIO(text, newline=""), strict=True))

    def rows_of(section, count):
        titles = [column["title"] for column in section["columns"]]
        top = next(i for i, record in enumerate(records) if record[:len(titles)] == titles)
        return [dict(zip(titles, record)) for record in records[top + 1:top + 1 + count]]
    return records, rows_of


def copy_job(folder, code, shift):
    """The demo's job as another site with other addresses."""
    text = read(DEMO, "r").replace("TB-11", code).replace("EG12-26-00431", "EG12-26-%05d" % (500 + shift))
    text = re.sub(r"00-00-5E-00-53-(2[0-9A-F])", lambda m: "00-00-5E-00-53-%02X" % (int(m.group(1), 16) + shift), text)
    return write(os.path.join(folder, code.lower() + ".yaml"), text)


def check_csv(cases, folder):
    layout = load(LAYOUT)
    out = os.path.join(folder, "demo.csv")
    status, said, err = run("sheet", *NOW, DEMO, "--out", out)
    cases.check("the demo's sheet is written", status == 0 and err == "" and b"TB-11  seal " in said, err)
    data = read(out)
    text = data.decode("utf-8")
    records, rows_of = csv_rows(text, layout)
    cases.check("lines end in CRLF", data.count(b"\n") == data.count(b"\r\n") == data.count(b"\r"))
    cases.check("every record has the same number of fields", len({len(record) for record in records}) == 1)
    wrong = compare([Facts(DEMO)], layout, rows_of)
    cases.check("csv reads the job's facts back", not wrong, *wrong)
    status, said, _ = run("sheet", *NOW, DEMO)
    cases.check("standard output gets the same bytes", status == 0 and said == data)

    jobs = [copy_job(folder, code, shift) for code, shift in (("TB-73", 3), ("TB-71", 9), ("TB-72", 5))]
    batch = os.path.join(folder, "batch.csv")
    status, _, err = run("sheet", *NOW, "--layout", LAYOUT, "--out", batch, *jobs)
    records, rows_of = csv_rows(read(batch, "r"), layout)
    wrong = compare([Facts(path) for path in sorted(jobs)], layout, rows_of)
    cases.check("csv reads a batch of three jobs back, by site", status == 0 and not wrong, err, *wrong)
    before = read(batch)
    run("sheet", *NOW, "--layout", LAYOUT, "--out", batch, *reversed(jobs))
    cases.check("the order of the jobs does not matter", read(batch) == before)
    status, said, _ = run("sheet", "--verify", batch, *jobs)
    cases.check("a batch agrees with its jobs", status == 0, said)
    status, said, _ = run("sheet", "--verify", batch, *jobs[:2])
    cases.check("a batch has a site too many for two of them, told once", status == 1 and said.count(b"stop ") == 1
                and b'TB-72: A4 the first of %d rows of site "TB-72"' % (13 + 2 + 3) in said and b"name the job of that site" in said, said)
    single = os.path.join(folder, "single.csv")
    run("sheet", *NOW, "--layout", LAYOUT, "--out", single, jobs[0])
    status, said, _ = run("sheet", "--verify", single, *jobs[:2])
    cases.check("a site that is not on it is told once", status == 1 and said.count(b"stop ") == 1 and b'TB-71: no row of site "TB-71"' in said, said)
    status, said, _ = run("seal", "--json", batch)
    seals = {each["site"]: each["seal"] for each in json.loads(said)["seals"]}
    single = {code: json.loads(run("seal", "--json", path)[1])["seal"] for code, path in zip(("TB-73", "TB-71", "TB-72"), jobs)}
    cases.check("seals of a batch are those of its jobs", status == 0 and seals == single, seals, single)


def check_workbook(cases, folder):
    text = own_layout("desk.xlsx")
    path = write(os.path.join(books(folder), "book.yaml"), text.replace('"tavrane-desk"', '"book"'))
    layout = load(path)
    template = os.path.join(books(folder), "desk.xlsx")
    sheet_desk.template(layout, template)
    out = os.path.join(folder, "filled.xlsx")
    status, _, err = run("sheet", *NOW, "--layout", path, DEMO, "--out", out)
    cases.check("the desk's workbook is filled", status == 0 and err == "", err)
    book, empty = openpyxl.load_workbook(out), openpyxl.load_workbook(template)

    def rows_of(section, count):
        page = book[section["page"]]
        return [{title: page[cell].value or "" for title, cell in row} for row in sheet_desk.cells(section, count)]
    wrong = compare([Facts(DEMO)], layout, rows_of)
    cases.check("openpyxl reads the job's facts back", not wrong, *wrong)
    kinds = {(page[cell].value, page[cell].data_type)
             for section in layout["sections"] for page in [book[section["page"]]]
             for row in sheet_desk.cells(section, Facts(DEMO).count(section["rows"]))
             for _, cell in row if page[cell].value is not None}
    addresses = [kind for value, kind in kinds if len(digits(value)) == 12 and digits(value).startswith("00005E")]
    cases.check("every value is text, addresses first of all", len(addresses) == 15 and {kind for _, kind in kinds} == {"s"}, kinds)
    kept = all(page[cell.coordinate].value == cell.value and page[cell.coordinate].font.b == cell.font.b
               for page in (book[name] for name in empty.sheetnames)
               for line in empty[page.title].iter_rows() for cell in line if cell.value is not None)
    cases.check("what the desk had written is kept", kept and book.sheetnames == empty.sheetnames)
    crc = [{item.filename: item.CRC for item in zipfile.ZipFile(name).infolist()} for name in (template, out)]
    changed = {name for name in crc[0] if crc[0][name] != crc[1].get(name)}
    cases.check("only the pages change", set(crc[0]) == set(crc[1]) and all(re.match(r"xl/worksheets/sheet\d\.xml$", n) for n in changed), changed)
    status, said, _ = run("sheet", "--verify", out, "--layout", path, DEMO)
    cases.check("the filled workbook agrees with the job", status == 0, said)
    return layout, path


def check_office(cases, folder, path):
    """What LibreOffice, where it is installed, makes of our sheets when somebody opens and saves them."""
    office = shutil.which("soffice")
    if not office:
        print("# figure sheets opened and saved by LibreOffice: none, it is not installed")
        return
    again = os.path.join(folder, "office")

    def save(kind, source):
        subprocess.run([office, "-env:UserInstallation=file://" + os.path.join(folder, "profile"), "--headless", "--convert-to", kind,
                        "--outdir", again, os.path.join(folder, source)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, timeout=300)
        return os.path.join(again, source)
    status, said, err = run("sheet", "--verify", save("xlsx:Calc MS Excel 2007 XML", "filled.xlsx"), "--layout", path, DEMO)
    cases.check("a workbook saved again by LibreOffice agrees", status == 0, said, err)
    status, said, err = run("sheet", "--json", "--verify", save("csv", "demo.csv"), DEMO)
    found = [each for each in json.loads(said or "{}").get("findings", []) if each["severity"] == "stop"]
    serials = [each["serial"] for each in load(DEMO)["attached"] if each.get("serial")]
    lost = sorted(serial for serial in serials if serial.isdigit() and serial.startswith("0"))
    cases.check("a CSV saved again by LibreOffice lost the zeros that are named, and nothing else",
                status == 1 and lost and sorted(each["expected"] for each in found) == lost and {each["cause"] for each in found} == {"leading-zeros"}, said, err)
    again_lost = len(found)
    status, said, err = run("sheet", "--json", "--verify", save("xlsx:Calc MS Excel 2007 XML", "demo.csv").replace(".csv", ".xlsx"), DEMO)
    found = json.loads(said or "{}").get("findings", [])
    cases.check("nor did one that it saved as a workbook", status == 1 and [each["cause"] for each in found] == ["saved-as-workbook"] + ["leading-zeros"] * again_lost, said, err)
    print("# figure sheets opened and saved by LibreOffice: a workbook, a CSV, a CSV as a workbook; %d value lost" % again_lost)


def check_template(cases, folder, layout, path):
    template, out = os.path.join(books(folder), "desk.xlsx"), os.path.join(folder, "not.xlsx")

    def spoil(name, change, *says):
        book = openpyxl.load_workbook(template)
        change(book)
        kept = template + ".kept"
        shutil.copy(template, kept)
        book.save(template)
        for draft in ([], ["--draft"]):
            status, said, err = run("sheet", *NOW, *draft, "--layout", path, DEMO, "--out", out)
            first = err.split("\n")[0]
            cases.check("template: %s%s" % (name, ", even as a draft" if draft else ""),
                        status == 1 and said == b"" and not os.path.exists(out) and all(each in first for each in says), err)
        os.replace(kept, template)

    def set_cell(page, cell, value):
        return lambda book: book[page].__setitem__(cell, value)
    spoil("title changed", set_cell("Interfaces", "D3", "MAC address"), 'Interfaces!D3 "Hardware address"', '"MAC address"')
    spoil("title missing", set_cell("Station", "C3", None), 'Station!C3 "Unit code"', "not there")
    spoil("column inserted", lambda book: book["Interfaces"].insert_cols(2), 'Interfaces!B3 "Interface"')
    spoil("page renamed", lambda book: setattr(book["Attached"], "title", "Devices"), 'no page "Attached"')
    spoil("row inserted", lambda book: book["Station"].insert_rows(1), 'Station!A3 "Station"')
    spoil("cell taken", set_cell("Interfaces", "B6", "port9"), 'Interfaces!B6 "Interface"', '"port9" there already')
    spoil("formula in a cell", set_cell("Interfaces", "E4", "=D4"), "Interfaces!E4", "formula")
    spoil("cell merged", lambda book: book["Interfaces"].merge_cells("B4:C4"), 'Interfaces!C4 "Panel"', "merged")
    write(template, "no workbook")
    status, _, err = run("sheet", *NOW, "--layout", path, DEMO, "--out", out)
    cases.check("a template that is no workbook is a fault", status == 2 and not os.path.exists(out), err)
    os.remove(template)
    status, _, err = run("sheet", *NOW, "--layout", path, DEMO, "--out", out)
    cases.check("so is one that is not there", status == 2 and "desk.xlsx" in err, err)
    bare = write(os.path.join(books(folder), "bare.yaml"), own_layout("x.xlsx").replace('\nworkbook: "x.xlsx"', ""))
    status, _, err = run("sheet", *NOW, "--layout", bare, DEMO, "--out", out)
    cases.check("a layout without a workbook cannot fill one", status == 2 and "names no workbook" in err and ".csv" in err, err)


def check_draft(cases, folder):
    text = read(DEMO, "r")
    lacking = re.sub(r'  - \{ of: "port/port4"(?:.|\n)*?\}\n', "", text)
    assert lacking != text
    job = write(os.path.join(folder, "lacking.yaml"), lacking)
    out = os.path.join(folder, "lacking.csv")
    status, said, err = run("sheet", *NOW, job, "--out", out)
    cases.check("an incomplete job's sheet is not written", status == 1 and said == b"" and not os.path.exists(out)
                and 'D13 "Hardware address"' in err and "phase muster" in err and "--draft" in err, err)
    status, said, err = run("sheet", *NOW, job)
    cases.check("nor to standard output", status == 1 and said == b"", said)
    status, said, err = run("sheet", *NOW, "--draft", job, "--out", out)
    cases.check("a draft is written and listed", status == 1 and os.path.exists(out) and "D13" in err and b"not complete" in said, err)
    status, said, _ = run("sheet", *NOW, "--draft", "--json", job, "--out", out)
    found = json.loads(said)
    cases.check("and told as JSON", status == 1 and found["written"] is True and found["medium"] == "csv"
                and found["findings"][0]["cell"] == "D13" and found["findings"][0]["interface"] == "port4"
                and {each["condition"] for each in found["held"]} >= {"roster-confirmed"}, found)
    status, _, err = run("seal", job)
    cases.check("an incomplete seal exits 1", status == 1 and "not complete" in err, err)
    status, said, _ = run("sheet", "--verify", out, job)
    cases.check("a draft that agrees is not in order all the same", status == 1 and b"no value" in said, said)


def check_formula(cases, folder):
    job = write(os.path.join(folder, "formula.yaml"), read(DEMO, "r").replace('name: "Pellarn Weir"', "name: '=HYPERLINK(\"x\",\"y\")'"))
    out = os.path.join(folder, "formula.csv")
    status, _, err = run("sheet", *NOW, job, "--out", out)
    cell = list(csv.reader(io.StringIO(read(out, "r"), newline="")))[2][1]
    cases.check("a formula is guarded in CSV, and told", status == 0 and cell == '\'=HYPERLINK("x","y")' and "apostrophe" in err, err)
    cases.check("the guarded sheet agrees", run("sheet", "--verify", out, job)[0] == 0)
    strict = write(os.path.join(books(folder), "strict.yaml"), read(LAYOUT, "r").replace("\nsections:", '\napostrophe: "no"\nsections:'))
    os.remove(out)
    status, _, err = run("sheet", *NOW, "--layout", strict, job, "--out", out)
    cases.check("where no apostrophe may be the value is refused", status == 1 and not os.path.exists(out) and "allows no apostrophe" in err, err)
    book = write(os.path.join(books(folder), "formula-book.yaml"), own_layout("f.xlsx"))
    sheet_desk.template(load(book), os.path.join(books(folder), "f.xlsx"))
    out = os.path.join(folder, "formula.xlsx")
    status, _, err = run("sheet", *NOW, "--layout", book, job, "--out", out)
    cell = openpyxl.load_workbook(out)["Station"]["B4"]
    cases.check("in a workbook it is text", status == 0 and cell.value == '=HYPERLINK("x","y")' and cell.data_type != "f", err, cell.data_type)


def limited():
    """A device that takes 100 bytes and no more."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))


def check_disk(cases, folder):
    for name in ("full.csv", "full.xlsx"):
        path = os.path.join(folder, name)
        book = write(os.path.join(books(folder), "full.yaml"), own_layout("full-desk.xlsx"))
        sheet_desk.template(load(book), os.path.join(books(folder), "full-desk.xlsx"))
        run("sheet", *NOW, "--layout", book, DEMO, "--out", path)
        before, names = read(path), sorted(os.listdir(folder))
        result = subprocess.run([sheet_desk.PROGRAM, "sheet"] + NOW + ["--layout", book, DEMO, "--out", path],
                                stdout=subprocess.PIPE, stderr=subprocess.PIPE, preexec_fn=limited,
                                env=dict(os.environ, PORTMUSTER_CACHE="no"))
        cases.check("no room for %s: the earlier sheet stays whole" % name,
                    result.returncode == 2 and result.stderr and read(path) == before and sorted(os.listdir(folder)) == names,
                    result.returncode, result.stderr)
    with open("/dev/full", "wb") as full:
        result = subprocess.run([sheet_desk.PROGRAM, "sheet"] + NOW + [DEMO], stdout=full, stderr=subprocess.PIPE)
    cases.check("standard output that takes nothing is a failure", result.returncode == 2)


def check_seal(cases, folder):
    fleet = os.path.dirname(DEMO)
    for name in sorted(os.listdir(fleet)):
        if not re.match(r"tb-.*\.yaml$", name):
            continue
        out = os.path.join(folder, "seal.csv")
        run("sheet", *NOW, "--draft", os.path.join(fleet, name), "--out", out)
        job = json.loads(run("seal", "--json", os.path.join(fleet, name))[1])
        sheet = json.loads(run("seal", "--json", out)[1])
        cases.check("seal of the sheet is the job's: " + name, job == sheet and len(job["words"]) == 9, job, sheet)
    out = os.path.join(folder, "seal.csv")
    run("sheet", *NOW, DEMO, "--out", out)
    status, said, err = run("seal", DEMO, out)
    cases.check("job and sheet agree", status == 0 and b"the same facts" in said and err == "", said, err)
    write(out, read(out, "r").replace("00-00-5E-00-53-28", "00-00-5E-00-53-2B", 1))
    status, said, err = run("seal", DEMO, out)
    cases.check("one digit: they do not", status == 1 and b"NOT the same" in said and "--verify" in err, said)
    found = json.loads(run("seal", "--json", DEMO, out)[1])
    cases.check("as JSON", found["match"] is False and found["seal"] != found["sheet"]["seal"], found)


def check_layouts(cases, folder):
    fleet = os.path.join(folder, "fleet")
    os.makedirs(os.path.join(fleet, "sheets"))
    job = copy_job(fleet, "TB-80", 1)
    write(os.path.join(folder, "fleet-layout.yaml"), read(LAYOUT, "r").replace("Part A", "Part X"))
    status, said, err = run("sheet", *NOW, job)
    cases.check("the only layout in the folder above is taken", status == 0 and said.startswith(b"Part X"), err)
    shutil.copy(LAYOUT, os.path.join(fleet, "sheets", "one.yaml"))
    status, said, err = run("sheet", *NOW, job)
    cases.check("the one in sheets/ beside the job goes before it", status == 0 and said.startswith(b"Part A"), err)
    write(os.path.join(fleet, "sheets", "two.yaml"), read(LAYOUT, "r").replace("Part A", "Part Z"))
    status, said, err = run("sheet", *NOW, job)
    cases.check("of several one must be named", status == 2 and "one" in err and "two" in err and "--layout" in err, err)
    status, said, _ = run("sheet", *NOW, "--layout", "two", job)
    cases.check("by name", status == 0 and said.startswith(b"Part Z"))
    # beside the job, among jobs, plans and whatever else
    write(os.path.join(fleet, "notes.yaml"), "layout: the desk's\nremarks:\n  sections: none\n")
    near = write(os.path.join(fleet, "near.yaml"), read(LAYOUT, "r").replace("Part A", "Part N"))
    status, said, err = run("sheet", *NOW, job)
    cases.check("one beside the job goes before those in sheets/", status == 0 and said.startswith(b"Part N"), err)
    write(near, read(LAYOUT, "r").replace("Part A", "Part N").replace("row/panel", "row/pannel"))
    status, said, err = run("sheet", *NOW, job)
    cases.check("and is not passed over when it is faulty", status == 2 and re.search(r'near\.yaml:\d+:\d+: unknown fill', err), err)
    write(near, json.dumps(load(LAYOUT)))
    status, said, err = run("sheet", *NOW, job)
    cases.check("nor when it is written without lines of its own", status == 0 and said.startswith(b"Part A"), err)
    write(os.path.join(fleet, "nearer.yaml"), read(LAYOUT, "r"))
    status, said, err = run("sheet", *NOW, job)
    cases.check("of two beside the job one must be named", status == 2 and "there are 2 sheet layouts" in err and "near" in err
                and "nearer" in err and "two" not in err.replace("there are 2", ""), err)
    for name in ("near.yaml", "nearer.yaml", "notes.yaml"):
        os.remove(os.path.join(fleet, name))
    os.remove(os.path.join(folder, "fleet-layout.yaml"))
    made = os.path.join(fleet, "tb-81.yaml")
    status, _, err = run("new", "--code", "TB-81", "--gear", "eg-12", "--layout", "two", made)
    cases.check("a new job records its layout", status == 0 and load(made)["layout"] == "two" and len(load(made)["layout-digest"]) == 64, err)
    found = json.loads(run("check", "--json", *NOW, made)[1])["jobs"][0]["findings"]
    cases.check("which has not changed", "profile-changed" not in {each["code"] for each in found})
    write(os.path.join(fleet, "sheets", "two.yaml"), read(LAYOUT, "r"))
    found = json.loads(run("check", "--json", *NOW, made)[1])["jobs"][0]["findings"]
    changed = [each for each in found if each["code"] == "profile-changed"]
    cases.check("and has now", len(changed) == 1 and changed[0]["field"] == "layout-digest", found)
    bad = write(os.path.join(books(folder), "bad.yaml"), read(LAYOUT, "r").replace("row/panel", "row/pannel"))
    status, _, err = run("sheet", *NOW, "--layout", bad, job)
    cases.check("a fill that nobody knows has its place", status == 2 and re.search(r'bad\.yaml:\d+:\d+: unknown fill "row/pannel"', err), err)


def check_usage(cases, folder):
    out = os.path.join(folder, "usage.csv")
    run("sheet", *NOW, DEMO, "--out", out)
    for name, args in (("no job", ["sheet"]), ("verify and out", ["sheet", "--verify", out, "--out", out, DEMO]),
                       ("JSON on standard output", ["sheet", "--json", DEMO]), ("no such job", ["sheet", "/nowhere.yaml"]),
                       ("no such layout", ["sheet", "--layout", "nowhere", DEMO]), ("no such sheet", ["sheet", "--verify", "/no.csv", DEMO]),
                       ("a folder for a sheet", ["sheet", "--verify", folder, DEMO]),
                       ("nothing to seal", ["seal"]), ("two jobs", ["seal", DEMO, DEMO]), ("an unknown option", ["seal", "--x", DEMO])):
        status, said, err = run(*args)
        cases.check("usage: " + name, status == 2 and said == b"" and err.startswith("portmuster"), status, err)
    status, said, _ = run("sheet", "--verify", "-", DEMO, stdin=read(out))
    cases.check("a sheet on standard input", status == 0, said)
    broken = write(os.path.join(folder, "broken.csv"), 'a,"b\n')
    status, _, err = run("sheet", "--verify", broken, DEMO)
    cases.check("a sheet that is no CSV is a fault with its place", status == 2 and "broken.csv:1:3" in err, err)
    ill = write(os.path.join(folder, "ill.csv"), read(out, "r").replace("Pellarn", "\x1b[31mPel\u202elarn"))
    for args in (["sheet", "--verify", ill, DEMO], ["sheet", "--verify", ill, "--json", DEMO], ["seal", ill], ["seal", "--json", ill, DEMO]):
        status, said, err = run(*args)
        cases.check("no control character comes through: " + " ".join(args[:1] + args[2:3]),
                    not re.search(rb"[\x00-\x09\x0b-\x1f\x7f]", said) and "\u202e".encode() not in said and "\x1b" not in err, said)


def main():
    cases = sheet_desk.Cases()
    with tempfile.TemporaryDirectory() as folder:
        check_csv(cases, folder)
        layout, path = check_workbook(cases, folder)
        check_office(cases, folder, path)
        check_template(cases, folder, layout, path)
        check_draft(cases, folder)
        check_formula(cases, folder)
        check_disk(cases, folder)
        check_seal(cases, folder)
        check_layouts(cases, folder)
        check_usage(cases, folder)
    return cases.failed


sys.exit(main())
