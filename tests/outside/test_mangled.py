"""Every mangled sheet is diagnosed cell by cell as its expectation says; see mangled/README.md."""
import difflib
import os
import re
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "mangled"))
import make_mangled as made  # noqa: E402
import sheet_desk  # noqa: E402


def read(name):
    with open(os.path.join(made.HERE, name), "rb") as file:
        return file.read()


def main():
    cases = sheet_desk.Cases()
    seen = set()
    with tempfile.TemporaryDirectory() as folder:
        made.prepare(folder)
        for name in list(made.CSV) + list(made.BOOK):
            expected = read(name + ".expected").decode()
            found = made.expectation(name, folder)
            seen |= {line.split()[3] for line in expected.splitlines()[2:]}
            same = expected == found
            if name in made.CSV:
                with open(os.path.join(folder, name + ".csv"), "rb") as file:
                    same = same and file.read() == read(name + ".csv")
            cases.check("mangled: " + name, same,
                        "\n".join(difflib.unified_diff(expected.splitlines(), found.splitlines(), lineterm="")))
    files = {name.rsplit(".", 1)[0] for name in os.listdir(made.HERE) if name.endswith((".csv", ".expected"))}
    cases.check("no sheet without a way it was made", files == set(made.CSV) | set(made.BOOK), files)
    with open(os.path.join(HERE, "..", "..", "docs", "sheet.md"), encoding="utf-8") as page:
        table = page.read().split("| cause |")[1].split("\n\n")[0]
    documented = set(re.findall(r"^\| `([a-z-]+)` \|", table, re.M))
    lacking = documented - seen
    cases.check("every documented cause has a mangled sheet", len(documented) > 15 and not lacking, lacking)
    return cases.failed


sys.exit(main())
