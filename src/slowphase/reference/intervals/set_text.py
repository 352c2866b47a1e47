"""The TOML text of a built set: what `set_file.read_set` reads again, and how it was made."""

import json
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from importlib.resources import files

from slowphase.reference.entry import Percentiles
from slowphase.reference.intervals.build import BuiltSet, MeasureLimits
from slowphase.reference.intervals.healthy import HealthyValue, MeasureKey
from slowphase.reference.intervals.interval import GroupLimits
from slowphase.reference.intervals.partition import Partition

DIGITS = 6
_KEYS = ("measure", "kind", "unit", "of", "vision", "definition", "frequency_hz",
         "peak_velocity_deg_s")  # fmt: skip


def set_text(built: BuiltSet, *, set_id: str, version: str) -> str:
    """The file of a built set."""
    lines = [*_head(built, set_id, version), *_built(built, version)]
    for limits in built.measures:
        lines += ["", *_entry(limits)]
    return "\n".join(lines) + "\n"


@cache
def interval_words() -> Mapping[str, Mapping[str, str]]:
    """The words for methods, verdicts and what was kept apart."""
    return tomllib.loads((files(__package__) / "words.toml").read_text(encoding="utf-8"))


def partition_text(test: Partition) -> str:
    """One partition test in a line."""
    found = "the rule asks for limits of their own" if test.needed else "one group"
    return (
        f"{test.by}: {test.names[0]} (n = {test.counts[0]}) and {test.names[1]} "
        f"(n = {test.counts[1]}): z = {test.z:.2f}, critical {test.critical_z:.2f}; "
        f"ratio of SDs {test.sd_ratio:.2f}: {found}"
    )


def _head(built: BuiltSet, set_id: str, version: str) -> Iterator[str]:
    sessions = built.collected.sessions
    ages = [s.age_years for s in sessions if s.age_years is not None]
    span = f", {min(ages):g}–{max(ages):g} years" if ages else ", ages not stated"
    women = sum(s.sex == "female" for s in sessions)
    men = sum(s.sex == "male" for s in sessions)
    yield f"# Reference intervals built by slowphase {version}. Correct the citation as you like."
    yield ""
    yield "[set]"
    yield f"id = {_text(set_id)}"
    yield f"citation = {_text(f'{set_id}: own healthy group, {len(sessions)} people')}"
    yield 'mark = "local"'
    yield f"population = {_text(f'healthy{span}; {women} female, {men} male')}"
    for name in ("recording", "alerting"):
        told = {getattr(session, name) for session in sessions}
        if len(told) == 1 and None not in told:
            yield f"{name} = {_text(str(told.pop()))}"


def _built(built: BuiltSet, version: str) -> Iterator[str]:
    words, options = interval_words(), built.options
    yield from ("", "[built]", f"software = {_text(f'slowphase {version}')}")
    yield f"people = {len(built.collected.sessions)}"
    yield f"outlier_rule = {_text(words['outlier']['rule'])}"
    kept = "left_out" if options.without_outliers else "kept"
    yield f"outliers = {_text(words['outlier'][kept])}"
    yield f"partition_rule = {_text(words['partition']['rule'])}"
    yield f"apart = {str(options.apart).lower()}"
    yield f"by_age = {_text(options.by_age)}"
    yield f"methods = {_texts(words['method'][m] for m in _methods(built))}"
    apart = [*built.collected.apart, *(a for limits in built.measures for a in limits.apart)]
    told = dict.fromkeys(f"{a.person}, {a.what}: {words['apart'][a.why]}" for a in apart)
    yield f"kept_apart = {_texts(told)}"


def _methods(built: BuiltSet) -> list[str]:
    return list(dict.fromkeys(g.method for limits in built.measures for g in limits.groups))


def _entry(limits: MeasureLimits) -> Iterator[str]:
    yield "[[entry]]"
    for name in _KEYS:
        value = getattr(limits.key, name)
        if value is not None:
            yield f"{name} = {_text(value) if isinstance(value, str) else _number(value)}"
    if limits.partitions:
        yield f"partition_tests = {_texts(partition_text(test) for test in limits.partitions)}"
    if not any(group.percentiles or group.curve for group in limits.groups):
        yield f"not_placed = {_text(interval_words()['method'][limits.groups[0].method])}"
    for group in limits.groups:
        if group.percentiles or group.curve or len(limits.groups) == 1:
            yield from ("", "[[entry.groups]]", *_group(group))


def _group(group: GroupLimits) -> Iterator[str]:
    yield f"n = {len(group.values)}"
    yield f"method = {_text(interval_words()['method'][group.method])}"
    if group.ages:
        yield f"ages = {_numbers(group.ages)}"
    if group.sex:
        yield f"sex = {_text(group.sex)}"
    if group.percentiles:
        yield f"percentiles = {_percentiles(group.percentiles)}"
        yield f"limit_intervals = {_intervals(group.limit_intervals)}"
    elif group.curve:
        yield "curve = ["
        for point, ends in zip(group.curve, group.curve_intervals, strict=True):
            yield (
                f"  {{ age_years = {_number(point.age_years)}, percentiles = "
                f"{_percentiles(point.percentiles)}, limit_intervals = {_intervals(ends)} }},"
            )
        yield "]"
    else:
        yield f"values = {_numbers(sorted(v.value for v in group.values))}"
    yield f"outliers = {_texts(_who(v) for v in group.flagged)}"
    yield f"left_out = {_texts(_who(v) for v in group.left_out)}"


def key_text(key: MeasureKey) -> str:
    """A measure and its stimulus in a few words."""
    parts = (
        key.kind, key.of, key.measure, key.vision,
        None if key.frequency_hz is None else f"{key.frequency_hz:g} Hz",
        None if key.peak_velocity_deg_s is None else f"{key.peak_velocity_deg_s:g} deg/s",
        key.definition,
    )  # fmt: skip
    return ", ".join(part for part in parts if part)


def _who(value: HealthyValue) -> str:
    return f"{value.person}: {_number(value.value)}"


def _percentiles(levels: Percentiles) -> str:
    return "{ " + ", ".join(f'"{p:g}" = {_number(level)}' for p, level in levels) + " }"


def _intervals(ends: Mapping[str, Sequence[float]]) -> str:
    return "{ " + ", ".join(f"{name} = {_numbers(pair)}" for name, pair in ends.items()) + " }"


def _numbers(values: Sequence[float]) -> str:
    return "[" + ", ".join(_number(value) for value in values) + "]"


def _number(value: float) -> str:
    return f"{float(f'{value:.{DIGITS}g}')!r}"


def _texts(values: Iterator[str] | Mapping[str, None] | Sequence[str]) -> str:
    return "[" + ", ".join(_text(value) for value in values) + "]"


def _text(value: str) -> str:
    """A TOML basic string: JSON's escapes are among those of TOML."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
