"""A plot rebuilt in EPANET's engine from its card, by the network rules and by nothing of ours.

The engine is owa-epanet (module `epanet.toolkit`). What is set, and why:

- flow units L/h are not among EPANET's, so m³/h; heads in m; head loss by Darcy-Weisbach;
- viscosity relative to EPANET's base 1.1e-5 ft²/s (from memory, and confirmed by the laminar
  vectors C01 to C07 agreeing); roughness 0.0015 mm;
- emitters are EPANET's own (q = C h^x, one exponent a network), back-flow off;
- accuracy 1e-8 of the flow, and changes of flow and errors of head bounded as well.

EPANET takes 32.2 ft/s² for gravity (9.8146 m/s²), and so do we: with 9.80665 losses are 0.08 %
  more.
"""

import math
import os
import warnings

from epanet import toolkit

BASE_VISCOSITY = 1.1e-5 * 0.3048**2
JET = 3600 * math.sqrt(2 * 32.2 * 0.3048)
"""Flow [m³/h] of a jet of 1 m² at 1 m of head."""


def kinematic_viscosity(celsius):
    """[m²/s], by Vogel's form and a density within 0.1 %."""
    dynamic = 2.414e-5 * 10 ** (247.8 / (celsius + 273.15 - 140))
    return dynamic / (1000 * (1 - (celsius - 4) ** 2 / 145_000))


class EpanetPlot:
    """One layout of one card (a mapping with every needed field) as an EPANET project.

    A `trouble` is built in as what it is: less of an emitter, an emitter more for a hole or an
    open end, a loss more. Holes need emitters of exponent 0.5.
    """

    def __init__(self, card, position, lines_run, bore_mm, inlet_k, taps=None, trouble=None):
        self.card, self.position, self.lines_run = card, position, lines_run
        self.trouble = trouble
        self.bore_mm, self.inlet_k, self.taps = bore_mm, inlet_k, taps
        self.project = toolkit.createproject()
        toolkit.init(self.project, os.devnull, "", toolkit.CMH, toolkit.DW)
        self._options()
        self._build()
        toolkit.openH(self.project)

    def close(self):
        """Free the engine's memory."""
        toolkit.closeH(self.project)
        toolkit.deleteproject(self.project)

    def _options(self):
        project, set_option = self.project, toolkit.setoption
        relative = kinematic_viscosity(self.card["water_temp_c"]) / BASE_VISCOSITY
        set_option(project, toolkit.SP_VISCOS, relative)
        set_option(project, toolkit.TRIALS, 2000)
        set_option(project, toolkit.ACCURACY, 1e-8)
        set_option(project, toolkit.HEADERROR, 1e-6)
        set_option(project, toolkit.FLOWCHANGE, 1e-8)
        set_option(project, toolkit.EMITBACKFLOW, 0)
        set_option(project, toolkit.EMITEXPON, self.card["dripline"]["exponent"])
        toolkit.setstatusreport(project, toolkit.NO_REPORT)

    def _pipe(self, name, start, end, length, bore_mm, minor=0.0):
        link = toolkit.addlink(self.project, name, toolkit.PIPE, start, end)
        toolkit.setpipedata(self.project, link, length, bore_mm, 0.0015, minor)
        return link

    def _junction(self, name, elevation):
        node = toolkit.addnode(self.project, name, toolkit.JUNCTION)
        toolkit.setjuncdata(self.project, node, elevation, 0.0, "")
        return node

    def _build(self):
        card, along_length = self.card, self.lines_run == "length"
        plot, dripline = card["plot"], card["dripline"]
        sides = ("length", "width") if along_length else ("width", "length")
        along, across = (plot[f"{side}_m"] for side in sides)
        slope_along, slope_across = (plot[f"slope_{side}_pct"] / 100 for side in sides)
        line_length = along if self.position == "corner" else along / 2
        directions = (1,) if self.position == "corner" else (1, -1)
        spacing = card["line_spacing_m"]
        taps = math.floor(across / spacing + 1e-9)
        emitters = math.floor(line_length / dripline["emitter_spacing_m"] + 1e-9)
        first, last = self.taps or (0, taps - 1)
        toolkit.addnode(self.project, "tank", toolkit.RESERVOIR)
        self._junction("foot", 0.0)
        # A pipe needs a length: a stand of nothing is one of a hundredth of a millimetre.
        stand = max(card["stand_height_m"], 1e-5)
        self._pipe("down", "tank", "foot", stand, self.bore_mm, self.inlet_k)
        self.lines, before, second = [], "foot", card.get("submain", {}).get("second")
        for tap in range(last + 1):
            ground = slope_across * (tap + 0.5) * spacing
            name, bore, minor = f"t{tap}", self.bore_mm, 0.0
            if second and tap >= second["from_tap"]:
                bore = second["inner_diameter_mm"]
                if tap == second["from_tap"]:
                    minor = 0.5 * (1 - (bore / self.bore_mm) ** 2)
            self._junction(name, ground)
            length = spacing * (0.5 if tap == 0 else 1.0)
            self._pipe(f"s{tap}", before, name, length, bore, minor)
            if self.trouble and self.trouble.hole and self.trouble.hole[0] == tap + 1:
                self._leak(name, 0.6 * self.trouble.hole[1])
            before = name
            if tap >= first:
                for place, side in enumerate(directions, tap * len(directions) + 1):
                    wrong = self.trouble.of_line(place) if self.trouble else None
                    self._line(name, tap, side, ground, side * slope_along, emitters)
                    if wrong is not None:
                        self._spoil(wrong, f"{tap}_{side}", ground, side * slope_along)

    def _leak(self, name, area):
        node = toolkit.getnodeindex(self.project, name)
        known = toolkit.getnodevalue(self.project, node, toolkit.EMITTER)
        toolkit.setnodevalue(self.project, node, toolkit.EMITTER, known + area * JET)

    def _spoil(self, wrong, line, ground, slope):
        """Build into the last line made what is wrong on it."""
        project, nodes = self.project, self.lines[-1]
        shares = wrong.shares or (1.0,) * len(nodes)
        for node, share in zip(nodes, shares, strict=True):
            usual = toolkit.getnodevalue(project, node, toolkit.EMITTER)
            usual *= 0.0 if wrong.shut else share * self.trouble.share
            toolkit.setnodevalue(project, node, toolkit.EMITTER, usual)
        for place, loss in ((1, wrong.tap_k), wrong.pinch or (1, 0.0)):
            link = toolkit.getlinkindex(project, f"p{line}_{place - 1}")
            known = toolkit.getlinkvalue(project, link, toolkit.MINORLOSS)
            toolkit.setlinkvalue(project, link, toolkit.MINORLOSS, known + loss)
        if wrong.hole:
            self._leak(f"e{line}_{wrong.hole[0] - 1}", 0.6 * wrong.hole[1])
        if wrong.open_end:
            dripline, last = self.card["dripline"], f"e{line}_{len(nodes) - 1}"
            spacing, bore = dripline["emitter_spacing_m"], dripline["inner_diameter_mm"]
            self._junction(f"end{line}", ground + slope * len(nodes) * spacing)
            self._pipe(f"out{line}", last, f"end{line}", 0.5 * spacing, bore)
            self._leak(f"end{line}", wrong.open_end * math.pi * (bore / 1000) ** 2 / 4)

    def _line(self, tap_name, tap, side, ground, slope, emitters):
        dripline, start, nodes = self.card["dripline"], tap_name, []
        spacing, barb = dripline["emitter_spacing_m"], dripline["barb_loss_m"]
        at_one_metre = dripline["emitter_flow_lph"] / 1000 * dripline.get("calibration", 1.0)
        at_one_metre /= dripline["reference_head_m"] ** dripline["exponent"]
        for j in range(emitters):
            name = f"e{tap}_{side}_{j}"
            node = self._junction(name, ground + slope * (j + 0.5) * spacing)
            toolkit.setnodevalue(self.project, node, toolkit.EMITTER, at_one_metre)
            length = spacing * (0.5 if j == 0 else 1.0) + barb
            minor = self.card["tap_k"] if j == 0 else 0.0
            bore = dripline["inner_diameter_mm"]
            self._pipe(f"p{tap}_{side}_{j}", start, name, length, bore, minor)
            nodes.append(node)
            start = name
        self.lines.append(nodes)

    def solve(self, surface):
        """Flow of each emitter [L/h] and its head [m], line by line, at a water surface [m]."""
        # The engine numbers junctions first, so the tank's number is known only now.
        tank = toolkit.getnodeindex(self.project, "tank")
        toolkit.setnodevalue(self.project, tank, toolkit.ELEVATION, surface)
        toolkit.initH(self.project, toolkit.INITFLOW)
        with warnings.catch_warnings():
            # Emitters above the water line make EPANET warn of negative pressure.
            warnings.simplefilter("ignore", Warning)
            toolkit.runH(self.project)
        value = toolkit.getnodevalue
        flows = [
            [1000 * value(self.project, node, toolkit.EMITTERFLOW) for node in line]
            for line in self.lines
        ]
        self.leaving = {
            name: 1000 * value(self.project, node, toolkit.EMITTERFLOW)
            for node in range(1, toolkit.getcount(self.project, toolkit.NODECOUNT))
            for name in [toolkit.getnodeid(self.project, node)]
        }
        heads = [
            [value(self.project, node, toolkit.PRESSURE) for node in line] for line in self.lines
        ]
        return flows, heads
