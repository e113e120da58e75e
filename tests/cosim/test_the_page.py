"""`docs/safety-evidence.md` tells what the faults came to. This module's name puts it after those that
fire; alone it has nothing to compare."""

import os
import unittest

import table

PAGE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "../../docs/safety-evidence.md")


class ThePage(unittest.TestCase):
    def test_every_fault_that_was_fired_stands_in_the_page_with_what_named_it(self):
        with open(PAGE, encoding="utf-8") as page:
            cells = [line.strip("| \n").split(" | ") for line in page if line.startswith("| ")]
        kept = {(row[0], row[3]) for row in cells if len(row) == 5}
        for fault, _, _, name, _ in table.ROWS:
            with self.subTest(fault=fault):
                self.assertIn((fault, name), kept)


if __name__ == "__main__":
    unittest.main()
