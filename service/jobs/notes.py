"""What the engine writes down, as JSON: no code that runs when it is read, no words of a fault."""

from __future__ import annotations

import json
from typing import Any

from dbos import Serializer

_FAULT = "fault of the kind"


class Notes(Serializer):
    """Names, keys and cursors; of an exception its kind, for its words may hold a number."""

    def name(self) -> str:
        return "litreline"

    def serialize(self, data: Any) -> str:
        return json.dumps(data, default=_kind, separators=(",", ":"))

    def deserialize(self, serialized_data: str) -> Any:
        found = json.loads(serialized_data)
        if isinstance(found, dict) and _FAULT in found:
            return RuntimeError(found[_FAULT])
        return found


def _kind(value: object) -> dict[str, str]:
    if not isinstance(value, Exception):
        raise TypeError(f"nothing to note down: {type(value).__name__}")
    return {_FAULT: type(value).__name__}
