"""JSON Schema of the data files, so that an editor completes and checks while one types.

``python -m logic.checklist.schema checklists`` writes them to ``checklists/schema``; the
first line of each data file names its schema. That of the fault catalogue is among them.
"""

import json
import sys
from collections.abc import Iterator
from pathlib import Path

from pydantic import BaseModel

from logic.checklist.glossary import Glossary
from logic.checklist.presets import Presets
from logic.checklist.step import Cautions, ChecklistHeading, Stage, Symptoms
from logic.diagnosis.catalogue import Catalogue

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FORMS: dict[str, type[BaseModel]] = {
    "cautions": Cautions,
    "checklist": ChecklistHeading,
    "faults": Catalogue,
    "glossary": Glossary,
    "presets": Presets,
    "stage": Stage,
    "symptoms": Symptoms,
}


def schema_files() -> Iterator[tuple[str, str]]:
    """Yield each schema's file name and its text."""
    for name, form in FORMS.items():
        schema = {"$schema": DIALECT, **form.model_json_schema()}
        yield f"{name}.json", json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def main(folder: Path) -> None:
    """Write the schemas into the checklists' folder."""
    target = folder / "schema"
    target.mkdir(parents=True, exist_ok=True)
    for name, text in schema_files():
        (target / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Say where the checklists are: python -m logic.checklist.schema checklists")
    main(Path(sys.argv[1]))
