"""Flow files to a book of conversations, or every reason why not."""

from __future__ import annotations

from collections.abc import Mapping

from service.dialogue.flow_checks import check_flows
from service.dialogue.flow_file import read_flow
from service.dialogue.machine import FlowBook, build_book
from service.dialogue.model import Flow, Navigation, Registry
from service.dialogue.nodes import Problems
from service.errors import TextFileError


def load_flows(
    files: Mapping[str, str], registry: Registry, navigation: Navigation | None = None
) -> FlowBook:
    """Read flow files (name to text), check all of them together and build their machines.

    Raises
    ------
    TextFileError
        With every problem found, each with file and line, in the order of file and line.
    """
    problems, keys = Problems(), navigation or Navigation()
    flows: dict[str, Flow] = {}
    for file in sorted(files):
        flow = read_flow(file, files[file], problems)
        if flow is None:
            continue
        if flow.name in flows:
            other = flows[flow.name].file
            problems.add(file, flow.line, f"flow {flow.name!r} stands in {other} already")
        else:
            flows[flow.name] = flow
    check_flows(flows, registry, keys, problems)
    if problems.found:
        raise TextFileError(problems.ordered())
    return build_book(flows, registry, keys)
