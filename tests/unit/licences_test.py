#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Nothing of others is in the programs or the page that is not named, with its notices.

What is there is asked of those who know: the compiler, which header it read; the linker's entries in the programs;
the bundler, what it put into the page.

licences_test.py ROOT BUILD NINJA PAGE PROGRAM …
"""
import json
import pathlib
import re
import subprocess
import sys

ROOT, BUILD, NINJA, PAGE = sys.argv[1:5]
PROGRAMS = {pathlib.Path(program).name: program for program in sys.argv[5:]}
COMPONENTS = json.loads(pathlib.Path(ROOT, "config/package/components.json").read_text())["components"]
NOTICES = pathlib.Path(BUILD, "config/package/notices")
SANITIZERS = {"libasan.so.8", "libubsan.so.1", "libtsan.so.2"}


def run(*words):
    return subprocess.run([str(word) for word in words], check=True, text=True, capture_output=True).stdout


def headers():
    """Every header of the system that a source of ours includes, tests apart."""
    found, ours = set(), False
    for line in run(NINJA, "-C", BUILD, "-t", "deps").splitlines():
        if not line.startswith(" "):
            ours = not line.startswith("tests/") and ": #deps" in line
        elif ours and line.strip().startswith("/usr/"):
            found.add(str(pathlib.Path(line.strip()).resolve()))
    assert len(found) > 500, f"{len(found)} headers: {BUILD} was not built"
    return sorted(found)


def packages_of(files):
    packages = set()
    for at in range(0, len(files), 500):
        for line in run("dpkg", "-S", *files[at:at + 500]).splitlines():
            packages |= {name.split(":")[0] for name in line.split(": /")[0].split(", ")}
    return packages


def every_header_is_of_a_component():
    known = {component["debian"] for component in COMPONENTS}
    # Of the compiler itself: its own headers go with its runtime.
    of_compiler = {"libstdc++-12-dev": {"libgcc-12-dev"}}
    packages = packages_of(headers())
    for whole, parts in of_compiler.items():
        if packages & parts:
            packages = packages - parts | {whole}
    assert packages == known, (f"not in components.json: {sorted(packages - known)}; "
                               f"there, and not included: {sorted(known - packages)}")


def every_library_is_of_a_component():
    for name, program in PROGRAMS.items():
        linked = set(re.findall(r"\(NEEDED\).*\[(.*)\]", run("readelf", "--dynamic", program))) - SANITIZERS
        linked = {library for library in linked if not library.startswith("ld-linux")}
        told = {library for component in COMPONENTS for library, programs in component["libraries"].items()
                if name in programs}
        # Sanitizers bring some of the C library's with them, and leave out what is there by then.
        system = {library for component in COMPONENTS if component.get("system") for library in component["libraries"]}
        assert linked - system == told - system, f"{name}: {linked ^ told}"
        assert len(linked - system) > 0, name


def page_packages():
    metafile = json.loads(pathlib.Path(PAGE, "dist/metafile.json").read_text())
    names = {"/".join(parts[:2] if parts[0].startswith("@") else parts[:1])
             for path in metafile["inputs"] if "node_modules/" in path
             for parts in [path.rsplit("node_modules/", 1)[1].split("/")]}
    assert len(names) >= 3, names
    return names


def every_notice_is_there(packages):
    page = pathlib.Path(PAGE, "dist/licences.txt").read_text()
    texts = {run(program, "--licences") for program in PROGRAMS.values()}
    assert len(texts) == 1, "the programs say different things"
    told = texts.pop()
    assert told == (NOTICES / "NOTICES").read_text()
    copyright = (NOTICES / "copyright").read_text()
    for name in packages:
        licence = next(pathlib.Path(PAGE, "node_modules", name).glob("LICENSE*")).read_text()
        assert "opyright" in licence and licence.strip() in page, name
        assert licence.strip() in told, name
        for line in filter(None, map(str.strip, licence.splitlines())):
            assert line in copyright, (name, line)
    for component in COMPONENTS:
        assert f"\n{component['name']}: {component['spdx']}\n" in told, component["name"]
        doc = pathlib.Path("/usr/share/doc", component["debian"], "copyright")
        if "text" not in component and not component.get("system"):
            assert doc.read_text().strip() in told, f"{component['name']}: the notices of {doc} are missing"
    assert "Boost Software License - Version 1.0" in told
    assert "/licences.txt" in pathlib.Path(PAGE, "dist/app.js").read_text()[:200]


def the_bill_is_whole(packages):
    bill = json.loads((NOTICES / "catwalk.spdx.json").read_text())
    # SPDX 2.3, clauses 6 and 7: what a document and a package must have.
    assert bill["spdxVersion"] == "SPDX-2.3" and bill["dataLicense"] == "CC0-1.0"
    assert bill["SPDXID"] == "SPDXRef-DOCUMENT" and "#" not in bill["documentNamespace"]
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", bill["creationInfo"]["created"])
    assert all(re.match(r"(Tool|Person|Organization): ", who) for who in bill["creationInfo"]["creators"])
    ids = [package["SPDXID"] for package in bill["packages"]]
    assert len(ids) == len(set(ids)) and all(re.fullmatch(r"SPDXRef-[A-Za-z0-9.-]+", one) for one in ids), ids
    by_name = {package["name"]: package for package in bill["packages"]}
    names = packages | {component["name"] for component in COMPONENTS} | {"catwalk"}
    assert set(by_name) == names, set(by_name) ^ names
    for name, package in by_name.items():
        assert package["downloadLocation"] and package["versionInfo"] != "NOASSERTION", name
    locked = json.loads(pathlib.Path(PAGE, "package-lock.json").read_text())["packages"]
    for name in packages:
        assert by_name[name]["versionInfo"] == locked[f"node_modules/{name}"]["version"], name
    related = {relation["relatedSpdxElement"] for relation in bill["relationships"]}
    assert related == set(ids), related ^ set(ids)


every_header_is_of_a_component()
every_library_is_of_a_component()
found = page_packages()
every_notice_is_there(found)
the_bill_is_whole(found)
