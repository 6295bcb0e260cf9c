"""What a rule of kv must not do."""

import re

from tests.paths import CHECKOUT


def test_no_rule_reaches_through_a_dictionary_of_ids():
    # Kivy keeps the dictionary with what the rule watches, and the dictionary keeps its widget.
    reaches = re.compile(r"^\s*(?!on_)\w+:.*\b(?:self|root|\w+)\.ids\b")
    found = [
        f"{path.name}:{number}: {line.strip()}"
        for path in (CHECKOUT / "mobile").rglob("*.kv")
        for number, line in enumerate(path.read_text().splitlines(), 1)
        if reaches.match(line)
    ]
    assert found == []
