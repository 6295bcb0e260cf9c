"""What is typed and not yet given, per step, as text in the store's bookmark."""

import json

_ROOM = 3900  # characters; the bookmark's own limit is 4000

Drafts = dict[str, dict[str, str]]


def read(text: str) -> Drafts:
    """Read drafts; a text that is none gives none: an older version's bookmark is no error."""
    try:
        found = json.loads(text) if text else {}
    except ValueError:
        return {}
    drafts = found.get("drafts") if isinstance(found, dict) else None
    if not isinstance(drafts, dict):
        return {}
    return {
        str(step): {str(kind): str(typed) for kind, typed in kinds.items()}
        for step, kinds in drafts.items()
        if isinstance(kinds, dict)
    }


def write(drafts: Drafts, step_id: str) -> str:
    """Write drafts; where they are too long, those of steps other than this one go first."""
    kept = {step: kinds for step, kinds in drafts.items() if any(kinds.values())}
    for other in [step for step in kept if step != step_id]:
        if _fits(kept):
            break
        del kept[other]
    return json.dumps({"drafts": kept}, ensure_ascii=False) if _fits(kept) else ""


def _fits(drafts: Drafts) -> bool:
    return len(json.dumps({"drafts": drafts}, ensure_ascii=False)) <= _ROOM
