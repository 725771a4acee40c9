"""Makes every mangled sheet from the intact one; run as a program, writes them and what is said of each."""
import csv
import datetime
import io
import json
import os
import shutil
import sys
import tempfile

import openpyxl

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.dirname(HERE))
import sheet_desk  # noqa: E402

CSV, BOOK = {}, {}


def sheet(function):
    CSV[function.__name__.replace("_", "-")] = function
    return function


def book(function):
    BOOK["book-" + function.__name__.replace("_", "-")] = function
    return function


def swap(old, new, count=1):
    """A CSV sheet with `old` replaced; it must be there."""
    def change(text):
        assert old in text, old
        return text.replace(old, new, count)
    return change


def rows(text):
    return list(csv.reader(io.StringIO(text, newline="")))


def put(records, separator=","):
    out = io.StringIO()
    csv.writer(out, delimiter=separator, lineterminator="\r\n").writerows(records)
    return out.getvalue()


def section(records, title):
    """Index of the row of titles that holds `title`."""
    return next(i for i, row in enumerate(records) if title in row)


# --- CSV sheets: the docstring says what was done -----------------------------

@sheet
def intact(text):
    """as it was written"""
    return text


@sheet
def byte_order_mark(text):
    """saved with a byte order mark"""
    return "\ufeff" + text


@sheet
def semicolons(text):
    """saved where the list separator is a semicolon"""
    return put(rows(text), ";")


@sheet
def tabs(text):
    """saved as text with tabs"""
    return put(rows(text), "\t")


@sheet
def line_feeds(text):
    """saved with bare line feeds"""
    return text.replace("\r\n", "\n")


@sheet
def trailing_commas_cut(text):
    """an editor took the commas off the ends of lines"""
    return "\r\n".join(line.rstrip(",") for line in text.split("\r\n"))


@sheet
def windows_1252(text):
    """saved in the code page Windows-1252"""
    return text.encode("cp1252")


@sheet
def utf_16(text):
    """saved as "Unicode text": UTF-16, tabs"""
    return put(rows(text), "\t").encode("utf-16")


@sheet
def read_as_latin(text):
    """read as Windows-1252 although it was UTF-8, saved as UTF-8"""
    return text.encode().decode("cp1252")


@sheet
def letters_lost(text):
    """saved in a code page that lacks its letters"""
    return text.encode("ascii", "replace").decode()


CSV["leading-zeros"] = swap("0417733", "417733")
CSV["leading-zeros"].__doc__ = "the gauge's serial number was taken for a number"
CSV["scientific"] = swap("0417E12", "4.17E+14")
CSV["scientific"].__doc__ = "a serial number of digits and one E was taken for a number"
CSV["scientific-address"] = swap("00005E005321", "0E+00")
CSV["scientific-address"].__doc__ = "an address of digits and one E was taken for a number"
CSV["scientific-long"] = swap("12345678901234567890", "1.23457E+19")
CSV["scientific-long"].__doc__ = "twenty digits were taken for a number and shown in short"
CSV["fifteen-digits"] = swap("12345678901234567890", "12345678901234500000")
CSV["fifteen-digits"].__doc__ = "twenty digits went through a number, which keeps fifteen"
CSV["date-of-two-numbers"] = swap("07-12", "12-Jul")
CSV["date-of-two-numbers"].__doc__ = "the unit code was taken for a date"
CSV["date-of-a-month"] = swap("MAR-07", "2007-03-01")
CSV["date-of-a-month"].__doc__ = "the parent's code was taken for a date"
CSV["number-decimal"] = swap("1.10", "1.1")
CSV["number-decimal"].__doc__ = "the crew was taken for a number"
CSV["number-comma"] = swap("1.10", '"1,1"')
CSV["number-comma"].__doc__ = "the same where a comma stands for the point"
CSV["letter-o"] = swap("00005E005321", "OOOO5EOO5321")
CSV["letter-o"].__doc__ = "typed with letters O for zeros"
CSV["look-alike-hex"] = swap("00005E00534B", "00005E005348")
CSV["look-alike-hex"].__doc__ = "8 for B in one address"
CSV["cyrillic"] = swap("EG12-26-00417", "\u0415G12-26-00417")
CSV["cyrillic"].__doc__ = "the first letter is Cyrillic"
CSV["greek-titles"] = swap("Address", "\u0391ddress")
CSV["greek-titles"].__doc__ = "a title begins with a Greek letter"
CSV["full-width"] = swap("MAR-07", "\uff2d\uff21\uff32\uff0d\uff10\uff17")
CSV["full-width"].__doc__ = "typed through an input method in full-width characters"
CSV["trailing-blank"] = swap("EG12-26-00417", "EG12-26-00417 ")
CSV["trailing-blank"].__doc__ = "a blank behind the serial number"
CSV["line-break-inside"] = swap("stilling well", '"stilling\nwell"')
CSV["line-break-inside"].__doc__ = "a line break in a name"
CSV["no-break-blank"] = swap("stilling well", "stilling\u00a0well")
CSV["no-break-blank"].__doc__ = "copied from a page: a no-break blank"
CSV["zero-width"] = swap("00005E00533C", "00005E\u200b00533C")
CSV["zero-width"].__doc__ = "copied from a page: a blank without width inside an address"
CSV["dashes"] = swap("EG12-26-00417", "EG12\u201326\u201300417")
CSV["dashes"].__doc__ = "a word processor made en dashes of the hyphens"
CSV["lower-case"] = swap("EG12-26-00417", "eg12-26-00417")
CSV["lower-case"].__doc__ = "the serial number in small letters"
CSV["notation-colon"] = swap("00005E00533C", "00:00:5e:00:53:3c")
CSV["notation-colon"].__doc__ = "one address in another notation"
CSV["notation-dropped-zeros"] = swap("00:00:5e:00:53:a1", "0:0:5e:0:53:a1")
CSV["notation-dropped-zeros"].__doc__ = "zeros dropped in every octet: still the same address"
CSV["zero-lost-in-octet"] = swap("00:00:5e:00:53:a1", "00:00:5e:0:53:a1")
CSV["zero-lost-in-octet"].__doc__ = "a zero lost in one octet: no address any more"
CSV["slip-wrong"] = swap("00005E00533C", "00005E005F3C")
CSV["slip-wrong"].__doc__ = "one wrong digit"
CSV["slip-neighbours"] = swap("00005E00534B", "00005E0053B4")
CSV["slip-neighbours"].__doc__ = "two digits in each other's place"
CSV["slip-across-a-colon"] = swap("00:00:5e:00:53:a2", "00:00:5e:00:5a:32")
CSV["slip-across-a-colon"].__doc__ = "two digits in each other's place, a colon between"
CSV["slip-dropped"] = swap("EG12-26-00417", "EG12-26-0417")
CSV["slip-dropped"].__doc__ = "one digit left out"
CSV["slip-doubled"] = swap("00005E00534B", "00005EE00534B")
CSV["slip-doubled"].__doc__ = "one digit twice"
CSV["formula"] = swap("EG12-26-00417", "=A1&B1")
CSV["formula"].__doc__ = "a formula as text"
CSV["formula-error"] = swap("EG12-26-00417", "#NAME?")
CSV["formula-error"].__doc__ = "an error that a formula left"
CSV["too-narrow"] = swap("0417733", "######")
CSV["too-narrow"].__doc__ = "the column was too narrow when the file was saved"
CSV["apostrophe-off"] = swap("'@0417", "@0417")
CSV["apostrophe-off"].__doc__ = "the guard was taken off"
CSV["truncated"] = swap("stilling well", "stilling")
CSV["truncated"].__doc__ = "the end of a name cut off"
CSV["emptied"] = swap("00005E00534B", "")
CSV["emptied"].__doc__ = "an address deleted"
CSV["added"] = swap("probe,0417E12,", "probe,0417E12,00:00:5e:00:53:a3")
CSV["added"].__doc__ = "an address filled in that the job does not have"
CSV["desk-remarks"] = swap("MAR-07,1.10,", "MAR-07,1.10,seen by the desk")
CSV["desk-remarks"].__doc__ = "the desk filled in its own column"
CSV["other-value"] = swap("EG12-26-00417", "see label")
CSV["other-value"].__doc__ = "something else altogether"
CSV["title-changed"] = swap("Interface,Address", "Port,Address")
CSV["title-changed"].__doc__ = "a title renamed"
CSV["heading-changed"] = swap("Attached,", "Other equipment,")
CSV["heading-changed"].__doc__ = "a heading renamed"


@sheet
def column_shifted(text):
    """the rows of the interfaces shifted one cell to the right from the name on, titles not"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top + 1:top + 5]:
        row[2:] = [""] + row[2:-1]
    return put(records)


@sheet
def columns_changed_places(text):
    """two columns of the interfaces changed places, titles too"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top:top + 5]:
        row[2], row[3] = row[3], row[2]
    return put(records)


@sheet
def column_inserted(text):
    """an empty column inserted in front of everything"""
    return put([[""] + row for row in rows(text)])


@sheet
def column_added(text):
    """a column of the desk's own in the middle of the interfaces"""
    records = rows(text)
    top = section(records, "Interface")
    for i, row in enumerate(records):
        row.insert(3, "" if not top <= i < top + 5 else "Seen by" if i == top else "J")
    return put(records)


@sheet
def column_deleted(text):
    """the check characters deleted, title too"""
    records = rows(text)
    top = section(records, "Interface")
    for row in records[top:top + 5]:
        row[4] = ""
    return put(records)


@sheet
def row_lost(text):
    """the row of port2 deleted"""
    return "\r\n".join(line for line in text.split("\r\n") if ",port2," not in line)


@sheet
def row_twice(text):
    """the row of port2 twice"""
    return "\r\n".join(line + "\r\n" + line if ",port2," in line else line for line in text.split("\r\n"))


@sheet
def row_added(text):
    """a device that the job does not have"""
    return text + "TB-90,spare probe,gauge,77,00:00:5e:00:53:a9,\r\n"


@sheet
def rows_swapped(text):
    """the rows of port1 and port2 changed places"""
    records = rows(text)
    top = section(records, "Interface")
    records[top + 2], records[top + 3] = records[top + 3], records[top + 2]
    return put(records)


@sheet
def addresses_swapped(text):
    """the addresses of port1 and port2 changed places, the rows not"""
    records = rows(text)
    top = section(records, "Interface")
    records[top + 2][3], records[top + 3][3] = records[top + 3][3], records[top + 2][3]
    return put(records)


@sheet
def address_of_another_row(text):
    """filled down: port2 got the address of port3"""
    return text.replace("00005E00533C", "00005E00534B")


@sheet
def section_lost(text):
    """everything below the heading of the attached devices cut off"""
    return text[:text.index("Attached")]


@sheet
def blank_lines(text):
    """blank lines between the sections"""
    return text.replace("Interfaces,,,,,\r\n", "\r\n\r\nInterfaces,,,,,\r\n")


@sheet
def two_things(text):
    """a slip in one cell and a blank in another"""
    return text.replace("00005E00533C", "00005E00533F").replace("EG12-26-00417", " EG12-26-00417")


# --- workbooks ------------------------------------------------------------------

@book
def untouched(work):
    """opened and saved"""


@book
def number(work):
    """the gauge's serial number as a number"""
    work["Attached"]["F12"] = 417733


@book
def number_that_reads_the_same(work):
    """the row's number as a number"""
    work["Interfaces"]["B2"] = 1


@book
def long_number(work):
    """twenty digits as a number"""
    work["Attached"]["F13"] = 12345678901234567890.0


@book
def date(work):
    """the unit code as a date"""
    work["Station"]["D4"] = datetime.date(2026, 7, 12)


@book
def formula(work):
    """the serial number by a formula"""
    work["Station"]["C9"] = '=CONCATENATE("EG12-26-","00417")'


@book
def error(work):
    """an error in a cell"""
    work["Station"]["C9"] = "#N/A"


@book
def look_alike(work):
    """letter O in an address"""
    work["Interfaces"]["D3"] = "OOOO5E005321"


@book
def emptied(work):
    """an address deleted"""
    work["Interfaces"]["D4"] = None


@book
def row_inserted(work):
    """an empty row inserted above the titles of the attached devices"""
    work["Attached"].insert_rows(11)


@book
def column_inserted(work):
    """an empty column inserted before the addresses of the interfaces"""
    work["Interfaces"].insert_cols(4)


@book
def page_renamed(work):
    """a page renamed"""
    work["Attached"].title = "Devices"


@book
def row_deleted(work):
    """the row of port1 deleted"""
    work["Interfaces"].delete_rows(3)


@book
def remark_below(work):
    """a remark of the desk's own below the rows"""
    work["Interfaces"]["A9"] = "checked by the desk"


def prepare(folder):
    """The job, its documents, the desk's template, the intact sheets."""
    for name in ("site.yaml", "four.yaml", "once.yaml", "desk.yaml"):
        shutil.copy(os.path.join(HERE, name), folder)
    sheet_desk.template(sheet_desk.read_layout(os.path.join(HERE, "desk.yaml")), os.path.join(folder, "desk.xlsx"))
    for name in ("intact.csv", "intact.xlsx"):
        status, out, err = sheet_desk.run("sheet", os.path.join(folder, "site.yaml"), "--out", os.path.join(folder, name))
        if status != 0:
            sys.exit("the intact sheet was not written: " + err)


def mangle(name, folder):
    """Write the mangled sheet into the folder; its path."""
    if name in BOOK:
        path = os.path.join(folder, name + ".xlsx")
        work = openpyxl.load_workbook(os.path.join(folder, "intact.xlsx"))
        BOOK[name](work)
        work.save(path)
        return path
    with open(os.path.join(folder, "intact.csv"), encoding="utf-8", newline="") as file:
        made = CSV[name](file.read())
    path = os.path.join(folder, name + ".csv")
    with open(path, "wb") as file:
        file.write(made if isinstance(made, bytes) else made.encode("utf-8"))
    return path


def said(path, folder):
    """Exit status and what is said of a sheet, a line a finding."""
    status, out, err = sheet_desk.run("sheet", "--verify", path, "--json", os.path.join(folder, "site.yaml"))
    if status == 2:
        return status, ["fault " + err.replace(folder, "FOLDER").strip()]
    lines = []
    for each in json.loads(out)["findings"]:
        place = "!".join(part for part in (each["page"], each["cell"]) if part) or "-"
        line = "%s %s %s %s" % (each["severity"], each["code"], place, each["cause"] or "-")
        if each["seen"] is not None or each["expected"] is not None:
            line += " %s -> %s" % (json.dumps(each["seen"]), json.dumps(each["expected"]))
        else:
            line += " " + each["message"]
        lines.append(line)
    return status, lines


def expectation(name, folder):
    how = (CSV.get(name) or BOOK[name]).__doc__
    status, lines = said(mangle(name, folder), folder)
    return "# %s\nexit %d\n%s" % (how, status, "".join(line + "\n" for line in lines))


def main():
    with tempfile.TemporaryDirectory() as folder:
        prepare(folder)
        for name in list(CSV) + list(BOOK):
            with open(os.path.join(HERE, name + ".expected"), "w", encoding="utf-8") as file:
                file.write(expectation(name, folder))
            if name in CSV:
                shutil.copy(os.path.join(folder, name + ".csv"), HERE)


if __name__ == "__main__":
    main()
