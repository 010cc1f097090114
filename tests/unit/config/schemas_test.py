#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""The published JSON Schemas say the same as the daemon's reader.

Every shipped file and every file of base/ is valid; of the table of broken files, those marked
"refuses" are invalid, those marked "cross-check" are valid as far as a schema can see.
Needs python3-jsonschema.
"""
import json
import pathlib
import re
import sys
import unittest

import jsonschema

SOURCE = pathlib.Path(sys.argv.pop(1))
CONFIG = SOURCE / "config"
TABLE = SOURCE / "tests/unit/config"
SCHEMA_OF = {"rack.json": "rack", "show.json": "show", "tern.json": "datasheet",
             "plover.json": "datasheet", "heron.json": "matrix", "teal.json": "matrix",
             "bands.json": "bands", "cables.json": "cables"}
# What is edited, and the table of edits.
TABLES = (("base", "broken_files.json", 200), ("matrix_base", "broken_matrix_files.json", 60),
          ("matrix_line_base", "broken_route_files.json", 70))


def without_comments(text):
    """Strings are matched as well, so that "//" within one is left alone."""
    token = re.compile(r'"(?:\\.|[^"\\])*"|//[^\n]*|/\*.*?\*/', re.DOTALL)
    return token.sub(lambda found: found[0] if found[0].startswith('"') else " ", text)


def parsed(text):
    return json.loads(without_comments(text))


def validator(name):
    schema = parsed((CONFIG / f"schemas/{name}.schema.json").read_text(encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema)


VALIDATORS = {name: validator(name) for name in ("rack", "show", "datasheet", "matrix", "bands", "cables")}


class Schemas(unittest.TestCase):
    def test_shipped_files_are_valid(self):
        sheets = sorted((CONFIG / "datasheets").glob("*.json"))
        is_matrix = lambda file: parsed(file.read_text(encoding="utf-8")).get("kind") == "matrix"
        shipped = {
            "rack": sorted((CONFIG / "demo").glob("*.rack.json")),
            "show": sorted((CONFIG / "demo").glob("*.show.json")),
            "datasheet": [file for file in sheets if not is_matrix(file)],
            "matrix": [file for file in sheets if is_matrix(file)],
            "bands": sorted((CONFIG / "bands").glob("*.json")),
            "cables": [CONFIG / "cables.json"],
        }
        for name, files in shipped.items():
            self.assertTrue(files, name)
            for file in files:
                with self.subTest(file=file.name):
                    content = parsed(file.read_text(encoding="utf-8"))
                    VALIDATORS[name].validate(content)
                    named = (file.parent / content["$schema"]).resolve()
                    self.assertEqual(named, (CONFIG / f"schemas/{name}.schema.json").resolve())

    def test_base_files_are_valid(self):
        for folder, _, _ in TABLES:
            for file in sorted((TABLE / folder).glob("*.json")):
                with self.subTest(file=file.name):
                    VALIDATORS[SCHEMA_OF[file.name]].validate(
                        parsed(file.read_text(encoding="utf-8")))

    def test_broken_files(self):
        for folder, table, fewest in TABLES:
            self.hold_against_schemas(folder, table, fewest)

    def hold_against_schemas(self, folder, name, fewest):
        table = parsed((TABLE / name).read_text(encoding="utf-8"))
        self.assertGreaterEqual(len(table), fewest)
        refused = 0
        for case in table:
            with self.subTest(case=case["name"]):
                text = (TABLE / folder / case["file"]).read_text(encoding="utf-8")
                for edit in case["edits"]:
                    self.assertEqual(text.count(edit["find"]), 1)
                    text = text.replace(edit["find"], edit["with"])
                if case["schema"] == "syntax":
                    continue
                valid = VALIDATORS[SCHEMA_OF[case["file"]]].is_valid(parsed(text))
                self.assertIn(case["schema"], ("refuses", "cross-check"))
                self.assertEqual(valid, case["schema"] == "cross-check")
                refused += not valid
        self.assertGreater(refused, fewest // 5)


if __name__ == "__main__":
    unittest.main()
