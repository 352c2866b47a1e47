"""Every sign: what answers it. Its words and its test stand in ``signs.toml``."""

import tomllib
from collections.abc import Callable, Mapping, Set
from functools import cache
from importlib.resources import files

from slowphase.reading.findings import Findings
from slowphase.reading.signs import battery, nystagmus, rotation, trust
from slowphase.reading.signs.sign import Answer, Sign

SIGNS: Mapping[str, Callable[[Findings], Answer]] = {
    "beats_right": nystagmus.right_slight,
    "beats_left": nystagmus.left_slight,
    "beats_right_fast": nystagmus.right_fast,
    "beats_left_fast": nystagmus.left_fast,
    "beats_right_very_fast": nystagmus.right_very_fast,
    "beats_left_very_fast": nystagmus.left_very_fast,
    "preponderance": nystagmus.preponderance,
    "nystagmus_changes": nystagmus.changes,
    "vertical_nystagmus": nystagmus.vertical,
    "turns_with_gaze": nystagmus.turns_with_gaze,
    "gain_very_low": rotation.gain_very_low,
    "gain_low": rotation.gain_low,
    "constant_short": rotation.constant_short,
    "constant_very_short": rotation.constant_very_short,
    "constant_long": rotation.constant_long,
    "lead_large": rotation.lead_large,
    "lead_small": rotation.lead_small,
    "rotation_right_weaker": rotation.right_weaker,
    "rotation_left_weaker": rotation.left_weaker,
    "suppression_poor": battery.suppression_poor,
    "pursuit_poor": battery.pursuit_poor,
    "caloric_right_weaker": battery.caloric_right,
    "caloric_left_weaker": battery.caloric_left,
    "caloric_both_weak": battery.caloric_both,
    "caloric_ear_works": battery.ear_works,
    "impulse_right_lower": battery.impulse_right,
    "impulse_left_lower": battery.impulse_left,
    "impulse_both_low": battery.impulse_both,
    "impulse_both_criterion": battery.impulse_both_criterion,
    "parts_ways": battery.parts_ways,
    "drowsy": trust.drowsy,
    "mirrored": trust.mirrored,
    "reversed_irrigations": trust.reversed_irrigations,
    "doubtful_recording": trust.doubtful_recording,
    "little_usable": trust.little_usable,
}


@cache
def sign_words() -> Mapping[str, Mapping[str, str]]:
    """Title, test and question of every sign, by code."""
    return tomllib.loads((files("slowphase.reading") / "signs.toml").read_text(encoding="utf-8"))


def signs_of(findings: Findings) -> dict[str, Sign]:
    """Every sign of a session, answered or open, by code."""
    words, bare = sign_words(), _without_interval(findings)
    return {code: _sign(code, words[code], ask(findings), bare) for code, ask in SIGNS.items()}


def _without_interval(findings: Findings) -> set[str]:
    """The measures that have a value and no interval."""
    found = [m for trial in findings.trials for m in trial.measures]
    found += [m for pair in findings.pairs for m in pair.measures]
    found += [m for group in findings.groups for m in group.measures]
    return {m.id for m in found if m.value is not None and m.low is None}


def _sign(code: str, words: Mapping[str, str], answer: Answer, bare: Set[str]) -> Sign:
    shown = answer.shown or (answer.evidence[0].shown if answer.evidence else "")
    behind = {item.measure for item in answer.evidence}
    return Sign(
        code=code,
        title=words["title"],
        test=words["test"],
        chance=answer.chance,
        evidence=answer.evidence,
        shown=shown,
        measured=not behind or not behind <= bare,
    )
