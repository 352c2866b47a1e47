"""Keys of one trial that contradict each other, lack their partner, or contradict a trace."""

from collections.abc import Mapping
from dataclasses import replace

from slowphase.foundation.problem import Problem
from slowphase.recording.check_keys import Checked, Place
from slowphase.recording.report_problem import make_problem
from slowphase.recording.trial import Trial

SPANS = ("irrigation", "fixation")
SIDES = ("anterior", "posterior")


def contradicts(trial: Trial, channel: str, key: str, found: str, expected: str) -> Problem:
    """The problem of a head or target trace that does not show what a key says."""
    return make_problem(
        "stimulus_contradicts",
        f"the {channel} trace shows {found}",
        expected=f"{expected}, as {key} says",
        remedy=f"correct the trial, its file, or the {channel} column: its role, its unit, or its "
        'sign (positive = "left")',
        found=found,
        trial=trial.id,
        file=trial.file,
        key=key,
    )


def without_contradictions(kind: str, checked: Checked, place: Place) -> Checked:
    """The keys of a trial less those that cannot both be meant, with one problem for each case.

    A time that is written in two ways (``irrigation_s`` and ``irrigation_start_s``) is left out
    unless both agree; a start without a stop, or the reverse, only has its problem. A ``canal``
    that does not lie in the ``plane`` leaves no plane to measure: the trial is not read.
    """
    if kind == "caloric":
        for name in SPANS:
            checked = _one_span(name, checked, place)
    return _one_plane(checked, place) if kind == "impulse" else checked


def _one_span(name: str, checked: Checked, place: Place) -> Checked:
    whole, ends = f"{name}_s", (f"{name}_start_s", f"{name}_stop_s")
    given = [checked.values.get(end) for end in ends]
    if given == [None, None]:
        return checked
    values = checked.values.get(whole)
    told = list(values) if isinstance(values, list | tuple) else [None, None]
    if whole in checked.values:
        agree = all(end in (None, same) for end, same in zip(given, told, strict=True))
        return checked if agree else _twice(whole, ends, checked, place)
    if name == "fixation" and None in given:
        return _with(checked, _half(ends[given.index(None)], ends, place), ())
    return checked


def _twice(whole: str, ends: tuple[str, str], checked: Checked, place: Place) -> Checked:
    ways = {key: checked.values[key] for key in (whole, *ends) if key in checked.values}
    said = " and ".join(f"{key} = {value}" for key, value in ways.items())
    problem = make_problem(
        "contradicting_keys",
        f"found {said}",
        expected=f"the time once: {whole}, or {ends[0]} and {ends[1]}",
        remedy="remove what is wrong; none of them was used",
        found=said,
        trial=place.trial,
        line=place.line(whole),
        key=whole,
    )
    return _with(checked, problem, (whole, *ends))


def _half(absent: str, ends: tuple[str, str], place: Place) -> Problem:
    given = next(end for end in ends if end != absent)
    return make_problem(
        "contradicting_keys",
        f"there is no {absent}",
        expected=f"{ends[0]} and {ends[1]} together",
        remedy=f"add {absent} = …",
        trial=place.trial,
        line=place.line(given),
        key=given,
    )


def _one_plane(checked: Checked, place: Place) -> Checked:
    plane, canal = (checked.values.get(key) for key in ("plane", "canal"))
    if not isinstance(plane, str) or not isinstance(canal, str) or _in_plane(canal, plane):
        return checked
    problem = make_problem(
        "contradicting_keys",
        f'found plane = "{plane}" and canal = "{canal}", which does not lie in it',
        expected="a canal of the plane, or one of the two keys alone",
        remedy="correct or remove one of them",
        found=f"{plane}, {canal}",
        trial=place.trial,
        line=place.line("canal"),
        key="plane",
    )
    return _with(checked, problem, ())


def _in_plane(canal: str, plane: str) -> bool:
    """Whether a canal lies in a plane, by its words; words that name no canal contradict none.

    RALP holds the right anterior and the left posterior canal, LARP the two others.
    """
    said = canal.lower().replace("horizontal", "lateral").replace("superior", "anterior")
    lateral = "lateral" in said
    if lateral or plane in ("lateral", "horizontal"):
        named = lateral or any(word in said for word in SIDES)
        return not named or (lateral and plane in ("lateral", "horizontal"))
    side = [side for side in ("right", "left") if side in said]
    which = [word for word in SIDES if word in said]
    if len(side) != 1 or len(which) != 1:
        return True
    ralp = (side[0] == "right") == (which[0] == "anterior")
    return plane == ("RALP" if ralp else "LARP")


def _with(checked: Checked, problem: Problem, lost: tuple[str, ...]) -> Checked:
    values: Mapping[str, object] = {k: v for k, v in checked.values.items() if k not in lost}
    return replace(checked, values=values, problems=(*checked.problems, problem))
