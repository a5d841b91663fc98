"""The only bridge from the answers of a conversation to the core and back to words.

`plan(card, tables)` is the one way to compute a plan. `registry()` holds the functions that flow
files name; each gets the answers and a `Context`.
"""

from service.advice.context import Context, Planner
from service.advice.plan_table import plan_table
from service.advice.planning import Planned, plan, planned
from service.advice.registry import registry
from service.advice.water_crops import crop_tables
from service.advice.water_explain import Chain, chains

__all__ = [
    "Chain", "Context", "Planned", "Planner", "chains", "crop_tables", "plan", "plan_table",
    "planned", "registry",
]  # fmt: skip
