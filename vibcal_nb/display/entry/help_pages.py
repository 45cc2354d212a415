"""Help at hand: mounting, cable, torque, warm-up, payload, and what to do when a reading does not settle.

Common practice, no source, but for what the plan's shaker states; the maker's instructions come first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from html import escape

from vibcal_nb.analysis.planning.plan import ChannelPlan
from vibcal_nb.display.entry.help_drawings import (
    cable_drawing,
    mounting_drawing,
    payload_drawing,
    settle_drawing,
    torque_drawing,
    warm_drawing,
)


@dataclass(frozen=True, kw_only=True)
class Help:
    """One short help: its drawing, what to do, and the caution that belongs to it."""

    title: str
    drawing: Callable[[], str]
    says: tuple[str, ...]
    caution: str = ""


HELPS = (
    Help(
        title="Mounting",
        drawing=mounting_drawing,
        says=(
            "Clean both faces; a thin film of grease helps above 1 kHz.",
            "The sensor's axis goes along the armature's. A loose joint shows at high levels and high frequencies.",
        ),
        caution="A sensor just off the machine may be hot. Keep fingers out of the gap while the shaker runs.",
    ),
    Help(
        title="Cable",
        drawing=cable_drawing,
        says=(
            "Lead it out in a wide bend, balanced around the sensor, and hold it beside the shaker.",
            "A cable that pulls adds transverse motion: readings at low frequency scatter.",
        ),
        caution="Bend hardline cable no tighter than its maker allows; once kinked it is scrap.",
    ),
    Help(
        title="Torque",
        drawing=torque_drawing,
        says=(
            "Hold the armature with one hand, tighten by hand with the other.",
            "The installed torque belongs on the machine; here it bends the armature's springs.",
        ),
        caution="On the machine use the maker's torque again, and prove the channel back in service.",
    ),
    Help(
        title="Payload",
        drawing=payload_drawing,
        says=(
            "Put the centre of the mass over the armature; what hangs over tilts it.",
            "Sensor, block and moving cable count. Where force rules, the reachable velocity falls as 1/f.",
        ),
        caution="A heavy sensor that comes loose flies off: never above the stated payload.",
    ),
    Help(
        title="Warm-up",
        drawing=warm_drawing,
        says=(
            "Switch on shaker, reference and readout, and wait as long as their makers ask for.",
            "Read the reference frequency first and last: the two show whether anything moved.",
        ),
    ),
    Help(
        title="It does not settle",
        drawing=settle_drawing,
        says=(
            "Wait ten periods at the least, and longer below 20 Hz.",
            "Still wandering: tighten the joint, free the cable, look for mains pick-up, lower the level.",
            "Write down what you did as a remark; read again with the reason.",
        ),
        caution="Do not hold the sensor to calm it while it shakes.",
    ),
)
CAUTION = (
    "A live protection channel is inhibited only under the site's permit and procedure, with the plant told, and is "
    "proved back in service afterwards; taking a sensor off can trip a running machine. Shaker, readout and laptop are "
    "ignition sources: in hazardous areas the site's permit decides. Local codes and licensed practice rule."
)


def help_html(plan: ChannelPlan | None) -> str:
    """Return the helps as HTML, with what the plan says of this sensor on this shaker."""
    figures = "".join(
        f"<figure>{item.drawing()}<figcaption><b>{escape(item.title)}.</b> {' '.join(map(escape, item.says))}"
        f"{f'<br><b>Caution:</b> {escape(item.caution)}' if item.caution else ''}</figcaption></figure>"
        for item in HELPS
    )
    return (
        f"<h2>Help at hand</h2><p class='caution'><b>Caution.</b> {escape(CAUTION)}</p>{_reach_html(plan)}"
        f"<div class='helps'>{figures}</div><p class='small'>Common practice, no source; the makers' instructions come "
        "first.</p>"
    )


def _reach_html(plan: ChannelPlan | None) -> str:
    if plan is None:
        return ""
    tag, shaker = plan.channel.tag, plan.shaker
    payload = f", which carries {shaker.payload_kg:g} kg" if shaker.payload_kg else ""
    mass = f"{plan.moving_mass_kg:g} kg" if plan.mass_known else "a mass that is not stated"
    said = [f"{tag} puts {mass} on {shaker.id}{payload}."]
    said += [f"{caution}." for caution in plan.cautions]
    said += [
        f"{gap.what}: {gap.level:.4g} {gap.unit} is needed, {gap.reached:.3g} reached ({gap.limited_by})."
        for gap in plan.out_of_reach[:4]
    ]
    return f"<ul>{''.join(f'<li>{escape(text)}</li>' for text in said)}</ul>"
