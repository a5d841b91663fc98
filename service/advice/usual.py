"""What was taken as usual, said in words that a farmer can check with eyes and hands."""

from __future__ import annotations

from service.phrases import Number, Phrase, say
from service.sizing.card import PlotCard, assumed_values
from service.sizing.spacing import usual_line_spacing
from service.sizing.tables import Tables

CENTIMETRES_PER_METRE = 100.0


def taken_as_usual(card: PlotCard, tables: Tables) -> Phrase:
    """One sentence that names each value nobody gave and that moves the answer."""
    missing = {assumed.field for assumed in assumed_values(card)}
    said: list[Phrase] = []
    if {"plot.slope_length_pct", "plot.slope_width_pct"} <= missing:
        said.append(say("level ground"))
    if card.soil is None:
        said.append(say("loam"))
    if card.line_spacing_m is None:
        crop = tables.crops.get(card.crop or "")
        said.append(say("lines {metres} m apart", metres=Number(usual_line_spacing(crop), 2)))
    if "dripline.emitter_spacing_m" in missing:
        spacing = CENTIMETRES_PER_METRE * card.dripline.emitter_spacing_m
        said.append(say("dripper each {cm} cm", cm=Number(spacing)))
    if "dripline.emitter_flow_lph" in missing:
        said.append(say("{flow} L/h", flow=Number(card.dripline.emitter_flow_lph, 1)))
    if "dripline.inner_diameter_mm" in missing:
        said.append(say("16 mm line"))
    if "tank.water_depth_m" in missing:
        said.append(say("tank {metres} m deep", metres=Number(card.tank.water_depth_m, 1)))
    if card.district is None and card.climate is None:
        said.append(say("hot dry weather"))
    return say("Taken as usual: {values}.", values=tuple(said))
