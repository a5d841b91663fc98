"""Reading the body of a request; a refusal names the field, what is allowed, an example."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Annotated, Any, NamedTuple, TypeAlias, TypeVar

from pydantic import (
    AfterValidator,
    AwareDatetime,
    BaseModel,
    ConfigDict,
    Field,
    ValidationError,
    ValidationInfo,
)

from service.errors import LitrelineError
from service.records import read_number


def _dialled(text: str, info: ValidationInfo) -> str:
    """The number in E.164; the country of local forms comes with the context."""
    return read_number(text, (info.context or {}).get("region", ""))


Number: TypeAlias = Annotated[str, Field(min_length=3, max_length=40), AfterValidator(_dialled)]
At: TypeAlias = Annotated[
    AwareDatetime, Field(ge=datetime(2000, 1, 1, tzinfo=UTC), lt=datetime(2100, 1, 1, tzinfo=UTC))
]
MessageId: TypeAlias = Annotated[str, Field(min_length=1, max_length=80, pattern=r"^[!-~]+$")]


class Body(BaseModel):
    """A JSON object of a gateway. Keys that we do not know are left alone."""

    model_config = ConfigDict(strict=True, extra="ignore", frozen=True)


class Allowed(NamedTuple):
    """What a field takes, in words, with an example."""

    words: str
    example: Any


class BadRequest(LitrelineError):
    """A body that cannot be read. `problems` is ready to be sent back as JSON."""

    def __init__(self, problems: list[dict[str, Any]]) -> None:
        self.problems = problems
        super().__init__("; ".join(_sentence(problem) for problem in problems))


Model = TypeVar("Model", bound=Body)


def read_body(
    model: type[Model], allowed: Mapping[str, Allowed], body: bytes, region: str = ""
) -> Model:
    """Read the body of a request. Raises BadRequest with every problem found."""
    try:
        return model.model_validate_json(body, context={"region": region})
    except ValidationError as error:
        # The value sent is not repeated: it may be a number, and refusals get logged.
        found = error.errors(include_url=False, include_input=False, include_context=False)
        raise BadRequest([_problem(one["loc"], one["type"], allowed) for one in found]) from None


def _problem(
    place: tuple[int | str, ...], kind: str, allowed: Mapping[str, Allowed]
) -> dict[str, Any]:
    field = str(place[0]) if place else "body"
    if field not in allowed:
        example = {name: one.example for name, one in allowed.items()}
        return {"field": "body", "allowed": "a JSON object in UTF-8", "example": example}
    words, example = allowed[field]
    missing = {"missing": True} if kind == "missing" else {}
    return {"field": field, "allowed": words, "example": example, **missing}


def _sentence(problem: dict[str, Any]) -> str:
    what = "is missing" if problem.get("missing") else "cannot be used"
    return f"{problem['field']} {what}: send {problem['allowed']}"
