"""Acid and chlorine in words. Cautions come first and in the same message as any amount.

The rules: what acid and strength known first; enough to fill the lines, not a full tank; acid into
water; mixed on the ground; goggles and gloves; never with or after the other; nothing to drink; the
text names plot and day, and says to ring the helpline if in doubt. First aid is common practice,
from memory; it defers to a clinic.
"""

from __future__ import annotations

from datetime import date
from math import ceil

from service.advice import rounding
from service.advice.crop_names import CROP_NAMES
from service.advice.upkeep_plot import PlotPipes
from service.phrases import N_, Month, Number, Phrase, Value, say
from service.sizing.treatment import Acid, Mix
from service.units import BUCKET_L

ACID_NAMES: dict[str, tuple[str, tuple[str, ...]]] = {
    "citric": (N_("Citric acid, powder"), ("citric",)),
    "phosphoric": (N_("Phosphoric acid"), ("phosphoric",)),
    "hydrochloric": (
        N_("Hydrochloric (muriatic) acid"),
        ("hydrochloric", "muriatic", "pool acid", "spirits of salt"),
    ),
    "sulphuric": (N_("Sulphuric, battery acid"), ("sulphuric", "sulfuric", "battery acid")),
}
"""Acids as a caller hears them, mildest first, with other names."""


def acid_name(acid: Acid) -> Phrase:
    """The acid as the caller chose it."""
    return say(ACID_NAMES[acid.key][0]) if acid.key in ACID_NAMES else say("{a}", a=acid.name)


# --- cautions ------------------------------------------------------------------------------------


def acid_cautions() -> tuple[Phrase, ...]:
    """Everything that must be read before an amount of acid."""
    return (
        # Translators: caution, before an amount of acid.
        say("Goggles, long gloves, apron, boots. A bucket of clean water beside you."),
        # Translators: caution, before an amount of acid: the order of mixing saves eyes.
        say("On the ground: water first, then acid into water, NEVER water into acid."),
        # Translators: caution, before an amount of acid.
        say("Nothing of metal. NEVER with or after chlorine: the gas kills."),
        # Translators: caution, before an amount of acid. First aid: have it read by a nurse.
        say("On skin or in eyes: rinse 20 minutes, then a clinic."),
        # Translators: caution, before an amount of acid.
        say("People and animals away. Nobody drinks this water. Nobody climbs with acid."),
    )


def chlorine_cautions() -> tuple[Phrase, ...]:
    """Everything that must be read before an amount of bleach."""
    return (
        # Translators: caution, before an amount of bleach.
        say("Goggles, long gloves, old clothes. A bucket of clean water beside you."),
        # Translators: caution, before an amount of bleach.
        say("On the ground: water first, then bleach into water. Nothing of metal."),
        # Translators: caution, before an amount of bleach.
        say("NEVER with or after acid, vinegar, urea or ammonium: the gas kills."),
        # Translators: caution, before an amount of bleach. First aid: have it read by a nurse.
        say("On skin or in eyes: rinse 20 minutes, then a clinic."),
        # Translators: caution, before an amount of bleach.
        say("People and animals away. Nobody drinks this water. Nobody climbs with bleach."),
    )


def in_doubt(helpline: str) -> Phrase:
    """The end of every text with an amount: it can be forged or forwarded."""
    if helpline:
        # Translators: caution, after an amount: a text can be false or meant for another plot.
        return say("In doubt do nothing and ring the helpline: {number}.", number=helpline)
    # Translators: caution, after an amount: a text can be false or meant for another plot.
    return say("In doubt do nothing and ask your field officer.")


# --- amounts -------------------------------------------------------------------------------------


def acid_dose_in_words(
    plot: PlotPipes,
    acid: Acid,
    strength_pct: float,
    mix: Mix,
    dose: float,
    day: date,
    helpline: str,
) -> tuple[Phrase, ...]:
    """The amount of acid [mL or g], its cautions before it."""
    values: dict[str, Value] = {
        "amount": Number(dose),
        "acid": acid_name(acid),
        "pct": Number(strength_pct, 1),
        "litres": Number(mix.litres),
    }
    if acid.form == "powder":
        # Translators: an amount of acid; its cautions stand before it in the same message.
        amount = say("{amount} g of {acid} ({pct}%) into {litres} L of water.", **values)
    else:
        # Translators: an amount of acid; its cautions stand before it in the same message.
        amount = say("{amount} mL of {acid} ({pct}%) into {litres} L of water.", **values)
    return (
        *acid_cautions(),
        only_for(plot, day),
        amount,
        # Translators: caution, with an amount of acid.
        say("Paper in the mix must show pH 2 to 3, else stop."),
        in_doubt(helpline),
    )


def chlorine_dose_in_words(
    plot: PlotPipes, available_pct: float, mix: Mix, dose: float, day: date, helpline: str
) -> tuple[Phrase, ...]:
    """The amount of bleach [mL], its cautions before it."""
    return (
        *chlorine_cautions(),
        only_for(plot, day),
        # Translators: an amount of bleach; its cautions stand before it in the same message.
        say(
            "{amount} mL of bleach ({pct}%) into {litres} L of water, for 1 hour in the lines.",
            amount=Number(dose),
            pct=Number(available_pct, 2),
            litres=Number(mix.litres),
        ),
        in_doubt(helpline),
    )


def only_for(plot: PlotPipes, day: date) -> Phrase:
    """The plot and the day to which an amount belongs."""
    layout = plot.layout
    # Translators: caution, with an amount: for which plot and on which day alone it holds.
    return say(
        "Only for the plot with {lines} lines of {length} m ({crop}), tank {tank} L, only on "
        "{day} {month}:",
        lines=layout.line_count,
        length=rounding.metres(layout.line_length_m),
        crop=_crop(plot),
        tank=Number(plot.card.tank.volume_l),
        day=day.day,
        month=Month(day.month),
    )


def _crop(plot: PlotPipes) -> Phrase:
    key = plot.card.crop or ""
    return say(CROP_NAMES[key][0]) if key in CROP_NAMES else say("{c}", c=key)


# --- without an amount ---------------------------------------------------------------------------


def acid_prepare_in_words(mix: Mix) -> tuple[Phrase, ...]:
    """What to have ready while the helpline has not released an amount."""
    return (
        *acid_cautions(),
        held_back(),
        # Translators: what to have ready before an acid treatment.
        say(
            "Have ready: plastic drums for {litres} L, a plastic measuring jug, a stick, pH paper, "
            "{buckets} buckets of clean water to rinse.",
            litres=Number(mix.litres),
            buckets=rinse_buckets(mix),
        ),
    )


def chlorine_prepare_in_words(mix: Mix) -> tuple[Phrase, ...]:
    """The same for bleach."""
    return (
        *chlorine_cautions(),
        held_back(),
        # Translators: what to have ready before a treatment with bleach.
        say(
            "Have ready: plastic drums for {litres} L, a plastic measuring jug, a stick, {buckets} "
            "buckets of clean water to rinse.",
            litres=Number(mix.litres),
            buckets=rinse_buckets(mix),
        ),
    )


def held_back() -> Phrase:
    """Who tells the amount."""
    # Translators: caution: an amount is told only by a person to a trained helper on the plot.
    return say("A person rings back, speaks with your trained helper and tells the amount.")


def rinse_buckets(mix: Mix) -> Number:
    """Clean water that rinses the pipes, in whole buckets, rounded up."""
    return Number(ceil(mix.rinse_litres / BUCKET_L - 1e-9))


def rinse_in_words(mix: Mix) -> tuple[Phrase, ...]:
    """Rinsing after acid: as long as paper shows it."""
    return (
        # Translators: caution, after a treatment.
        say(
            "Rinse tank and filter. Then {buckets} buckets of clean water out of the line ends, "
            "one at a time.",
            buckets=rinse_buckets(mix),
        ),
    )


def until_paper() -> Phrase:
    """When an acid treatment is over."""
    # Translators: caution, after a treatment with acid.
    return say("Go on until paper shows plain water.")


def until_no_smell() -> Phrase:
    """When a treatment with bleach is over."""
    # Translators: caution, after a treatment with bleach.
    return say("Go on until no smell is left. No feeding before tomorrow.")


# --- no ------------------------------------------------------------------------------------------


def no_plot() -> tuple[Phrase, ...]:
    """Without a plot no amount can be reckoned."""
    return (say("Your plot is not known here, so no amount can be reckoned. Ask the helpline."),)


def acid_out_of_range(acid: Acid, strength_pct: float) -> tuple[Phrase, ...]:
    """A strength for which no amount is told."""
    if strength_pct > acid.high_pct:
        # Translators: caution: too strong an acid.
        return (say("That strength is too dangerous for this. Do not use it. Ask the helpline."),)
    return (say("That is too weak, or the label was misread. Read it again or ask the helpline."),)


def bleach_out_of_range() -> tuple[Phrase, ...]:
    """A strength that plain liquid bleach does not have."""
    return (say("Plain bleach has 1 to 15%. Read the label again, or ask the helpline."),)


def too_much_mix() -> tuple[Phrase, ...]:
    """A plot too large to be treated by hand."""
    return (
        say("Your lines hold too much for one mix by hand: block by block, with the helpline."),
    )
