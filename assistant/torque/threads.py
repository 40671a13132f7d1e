"""Screw threads by their names, and the loads that the standards prove them with.

Threads: ISO 261 metric, coarse and fine; ASME B1.1 UNC and UNF. Proof stresses: ISO 898-1, SAE
J429; for stainless steel the 0.2 % proof stress of ISO 3506-1. The tables are written from memory
of these standards and are checked in tests/outside/.
"""

import math
import re
from fractions import Fraction

from pydantic import BaseModel, ConfigDict

from assistant.errors import TorqueError

MM_PER_INCH = 25.4
_MPA_PER_KSI = 6.894757

# Coarse pitches in mm by nominal diameter in mm (ISO 261).
_COARSE = {
    1.6: 0.35, 2: 0.4, 2.5: 0.45, 3: 0.5, 3.5: 0.6, 4: 0.7, 5: 0.8, 6: 1, 7: 1, 8: 1.25, 10: 1.5, 12: 1.75,
    14: 2, 16: 2, 18: 2.5, 20: 2.5, 22: 2.5, 24: 3, 27: 3, 30: 3.5, 33: 3.5, 36: 4, 39: 4, 42: 4.5, 48: 5,
}  # fmt: skip
_PITCHES = (
    0.2,
    0.25,
    0.35,
    0.4,
    0.45,
    0.5,
    0.6,
    0.7,
    0.75,
    0.8,
    1,
    1.25,
    1.5,
    1.75,
    2,
    2.5,
    3,
    3.5,
    4,
    4.5,
    5,
)
# Threads per inch by size: coarse and fine (ASME B1.1). Numbered sizes are 0.060 in + 0.013 in each.
_UNIFIED = {
    "#2": (56, 64), "#4": (40, 48), "#5": (40, 44), "#6": (32, 40), "#8": (32, 36), "#10": (24, 32),
    "#12": (24, 28), "1/4": (20, 28), "5/16": (18, 24), "3/8": (16, 24), "7/16": (14, 20), "1/2": (13, 20),
    "9/16": (12, 18), "5/8": (11, 18), "3/4": (10, 16), "7/8": (9, 14), "1": (8, 12), "1 1/8": (7, 12),
    "1 1/4": (7, 12), "1 3/8": (6, 12), "1 1/2": (6, 12),
}  # fmt: skip

_METRIC_NAME = re.compile(r"M(?P<size>\d+(?:\.\d+)?)(?:\s*x\s*(?P<pitch>\d+(?:\.\d+)?))?", re.IGNORECASE)
_UNIFIED_NAME = re.compile(
    r"(?P<size>(?:#|No\.?\s*)\d+|\d+[ -]\d+/\d+|\d+/\d+|\d+)\s*-\s*(?P<tpi>\d+)(?:\s*UN[CF])?", re.IGNORECASE
)


class Thread(BaseModel):
    """One thread; lengths in millimetres. `stress_area_mm2` follows its own standard's formula."""

    model_config = ConfigDict(frozen=True)

    name: str
    diameter_mm: float
    pitch_mm: float
    inch: bool = False

    @property
    def stress_area_mm2(self) -> float:
        """Tensile stress area: ISO 898-1, pi/4 (d - 0.9382 P)^2; ASME B1.1, pi/4 (D - 0.9743/n)^2."""
        depth = 0.9743 if self.inch else 0.9382
        return math.pi / 4 * (self.diameter_mm - depth * self.pitch_mm) ** 2

    @property
    def pitch_diameter_mm(self) -> float:
        """Pitch diameter (ISO 724): d - 0.6495 P."""
        return self.diameter_mm - 0.649519 * self.pitch_mm


def read_thread(name: str) -> Thread:
    """Read "M10", "M10x1.25", "1/4-20", "#10-32"; TorqueError where no such thread is listed."""
    if metric := _METRIC_NAME.fullmatch(name.strip()):
        return _metric(metric["size"], metric["pitch"])
    if unified := _UNIFIED_NAME.fullmatch(name.strip()):
        return _unified(unified["size"], int(unified["tpi"]))
    if sizes := _UNIFIED.get(name.strip()):
        coarse, fine = (f"{name.strip()}-{per_inch}" for per_inch in sizes)
        raise TorqueError(f"{name!r} is a size without its thread", do=f"write {coarse} or {fine}")
    raise TorqueError(f"{name!r} is no thread", do="write it so: M10, M10x1.25, 1/4-20 or #10-32")


def check_thread(name: str) -> None:
    """Refuse a metric or inch thread that is not listed; ValueError, for models. Others (pipe threads) may be."""
    metric, unified = _METRIC_NAME.fullmatch(name.strip()), _UNIFIED_NAME.fullmatch(name.strip())
    if metric or unified:
        try:
            read_thread(name)
        except TorqueError as error:
            raise ValueError(str(error)) from error


def is_listed(name: str) -> bool:
    """Tell whether a thread is one whose size and pitch are known here."""
    try:
        read_thread(name)
    except TorqueError:
        return False
    return True


def _metric(size: str, pitch: str | None) -> Thread:
    diameter_mm = float(size)
    coarse_mm = _COARSE.get(diameter_mm)
    if coarse_mm is None:
        near = min(_COARSE, key=lambda known: abs(known - diameter_mm))
        raise TorqueError(f"M{size} is not a listed size", do=f"write M{near:g} if you mean that")
    pitch_mm = float(pitch) if pitch else coarse_mm
    if pitch_mm > coarse_mm or pitch_mm not in _PITCHES:
        raise TorqueError(
            f"M{size} has no pitch of {pitch} mm", do=f"coarse is M{size}x{coarse_mm:g}, fine less"
        )
    return Thread(name=f"M{size}x{pitch_mm:g}", diameter_mm=diameter_mm, pitch_mm=pitch_mm)


def _unified(size: str, per_inch: int) -> Thread:
    plain = re.sub(r"(?i)no\.?\s*", "#", size).replace("-", " ")  # "1-1/8-7"
    plain = f"#{plain}" if plain not in _UNIFIED and f"#{plain}" in _UNIFIED else plain  # "10-32"
    listed = _UNIFIED.get(plain)
    if listed is None:
        raise TorqueError(f"{size} is not a listed inch size", do=f"the sizes are {', '.join(_UNIFIED)}")
    if per_inch not in listed:
        coarse, fine = listed
        raise TorqueError(
            f"{size} has no listed thread of {per_inch} to the inch",
            do=f"write {plain}-{coarse} or {plain}-{fine}",
        )
    inches = (
        Fraction(60 + 13 * int(plain[1:]), 1000) if plain[0] == "#" else sum(map(Fraction, plain.split()))
    )
    return Thread(
        name=f"{plain}-{per_inch}",
        diameter_mm=float(inches) * MM_PER_INCH,
        pitch_mm=MM_PER_INCH / per_inch,
        inch=True,
    )


# Proof stress in MPa by class: up to which diameter in mm it holds, the smallest first.
_ISO_898: dict[str, tuple[tuple[float, float], ...]] = {
    "4.6": ((39, 225),), "4.8": ((39, 310),), "5.6": ((39, 280),), "5.8": ((39, 380),), "6.8": ((39, 440),),
    "8.8": ((16, 580), (39, 600)), "9.8": ((16, 650),), "10.9": ((39, 830),), "12.9": ((39, 970),),
}  # fmt: skip
_SAE_J429 = {
    "SAE 2": ((0.75, 55), (1.5, 33)),
    "SAE 5": ((1.0, 85), (1.5, 74)),
    "SAE 8": ((1.5, 120),),
}
_ISO_3506 = {f"{steel}-{strength}": ((39.0, proof),) for steel in ("A2", "A4") for strength, proof in
             (("50", 210.0), ("70", 450.0), ("80", 600.0))}  # fmt: skip

PROOF_STRESSES_MPA: dict[str, tuple[tuple[float, float], ...]] = {
    **_ISO_898,
    **{
        grade: tuple((inches * MM_PER_INCH, ksi * _MPA_PER_KSI) for inches, ksi in bands)
        for grade, bands in _SAE_J429.items()
    },
    **_ISO_3506,
}


def read_class(text: str) -> str:
    """Give the canonical name of a property class or grade: "8.8", "SAE 5", "A2-70"."""
    plain = re.sub(r"(?i)^(?:class|iso 898-1)\s*", "", text.strip())
    grade = re.sub(r"(?i)^(?:sae(?:\s*j429)?)?\s*(?:grade|gr\.?)?\s*(?=[258]$)", "SAE ", plain).upper()
    if grade not in PROOF_STRESSES_MPA:
        raise TorqueError(
            f"{text!r} is no known property class", do=f"write one of {', '.join(PROOF_STRESSES_MPA)}"
        )
    return grade


def proof_load_kn(thread: Thread, property_class: str) -> float:
    """Give the proof load in kN: proof stress x stress area; TorqueError where the class has none so big."""
    grade = read_class(property_class)
    for largest_mm, stress_mpa in PROOF_STRESSES_MPA[grade]:
        if thread.diameter_mm <= largest_mm:
            return stress_mpa * thread.stress_area_mm2 / 1000
    raise TorqueError(
        f"class {grade} has no proof load for {thread.name}", do="check the thread and the class"
    )
