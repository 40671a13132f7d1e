"""Words that call for a caution, and the words by which one is known to be there (common practice, no source).

A danger counts as told where the step's own caution speaks of it, or one of the procedure's cautions, which are
read out before the work begins.
"""

import re
from collections.abc import Iterator
from typing import NamedTuple

from assistant.procedure.finding import Finding
from assistant.procedure.model import Step
from assistant.procedure.review.ways import Looked


class Hazard(NamedTuple):
    """A danger: the words of a step that call for a caution, the words of one that tells it, and what to write."""

    called: str
    calls: str
    told: str
    write: str


HAZARDS = (
    Hazard(
        "a spring under compression",
        r"\bsprings?\b(?! (?:washer|clip|pin|dowel|balance))|\bcompressor tool\b|\btorsion bar\b",
        r"spring|compress|tension|pushes? back",
        "Springs are under compression. Eye protection, and keep clear of their line.",
    ),
    Hazard(
        "solvent",
        r"\b(?:solvents?|brake cleaner|parts cleaner|degreaser|degrease|thinners?|acetone|white spirit|paraffin|"
        r"kerosene)\b",
        r"solvent|gloves|fresh air|ventilat|vapour|fumes",
        "Solvent. Gloves, eye protection and fresh air.",
    ),
    Hazard(
        "a load that is lifted",
        r"\b(?:hoist|crane|sling|jack stands?|trolley jack|engine stand)\b|\bjack (?:\w+ ){0,3}up\b|"
        r"\bheavy\b(?! (?:grease|oil|duty|paper))|"
        r"\b(?:lift|lower|raise)s? (?:\w+ ){0,3}(?:engine|motor|head|block|gearbox|transmission|axle|flywheel|"
        r"crankshaft|trailer|machine|car|van|truck|vehicle|frame|subframe)\b(?! (?:bolts?|nuts?|gasket|cover))",
        r"heavy|hoist|lift|load|support|second pair|two people|never .*under|jack|stands?\b",
        "Heavy. Use a hoist or a second pair of hands, and keep out from under it.",
    ),
    Hazard(
        "fuel",
        r"\b(?:petrol|gasoline|carburett?ors?)\b|\bfuel (?:lines?|hoses?|pipes?|filters?|tank|rail|bowl|system)\b|"
        r"\binjector (?:lines?|pipes?)\b|\b(?:drain|loosen|catch|bleed)\b[^.]*\b(?:fuel|diesel)\b",
        r"fuel|petrol|diesel|flame|fire|spark|smok|ignit",
        "Fuel. No flame, no spark, battery off, fresh air, and catch what runs out.",
    ),
    Hazard(
        "heat",
        r"\b(?:hot|heat)\b(?! (?:shield|sink|exchanger|range|wire))|"
        r"\b(?:heats|heated|heating|oven|blow ?torch|hot[- ]air|boiling|induction heater)\b",
        r"hot|heat|burn|cool|gloves|fire",
        "Hot. Gloves for heat, and nothing that burns close by.",
    ),
    Hazard(
        "the battery",
        r"\b(?:battery|batteries|jump leads?|starter motor|alternator)\b",
        r"battery|batteries|negative|lead off|leads off|short circuit|acid",
        "Battery off, negative lead first; no metal across its poles.",
    ),
    Hazard(
        "pressure",
        r"\b(?:under pressure|full pressure|(?:release|let off|relieve) the pressure|"
        r"pressuri[sz]ed?|compressed air|air line|hydraulic (?:lines?|hoses?|pipes?)|"
        r"radiator cap|accumulator)\b",
        r"pressure|drain|stand (?:aside|clear)|spray|jet",
        "Eye protection; let the pressure off first, and stand aside of the jet.",
    ),
    Hazard(
        "an engine that runs",
        r"\b(?:start|run|crank)s? (?:the|it|up the) (?:engine|motor|starter)\b(?! (?:mount|bolt|cover))|"
        r"\bengine (?:runs|running|idles|idling)\b",
        r"fan|belt|moving|turning|clear of|hands|fingers|fresh air|exhaust gas|hot",
        "Hands, hair and sleeves clear of belts and fan; exhaust gas out of the room.",
    ),
)


def untold(looked: Looked) -> Iterator[Finding]:
    """Find steps whose words speak of a danger that no caution tells."""
    general = " ".join(looked.procedure.cautions)
    for place, step in enumerate(looked.procedure.steps):
        cautions = f"{general} {step.caution.say if step.caution else ''}"
        for hazard in HAZARDS:
            found = re.search(hazard.calls, _words(step), re.IGNORECASE)
            if found and not re.search(hazard.told, cautions, re.IGNORECASE):
                yield Finding(
                    path=("steps", place, "say"),
                    what=f"step {step.step} speaks of {hazard.called} ({found[0]}), and no caution does",
                    do=f"add a caution, such as: {hazard.write}",
                )


def _words(step: Step) -> str:
    """Give all that is read out of a step but its caution."""
    also = (step.check.if_not if step.check else "", step.helper.say if step.helper else "")
    return " . ".join((step.say, step.tool, *also))
