"""The column map: which column of a trace file plays which role, in which unit and sign."""

from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from slowphase.foundation.problem import Problem
from slowphase.recording.keys import is_number
from slowphase.recording.report_problem import make_problem, quote
from slowphase.recording.toml_lines import TomlLines
from slowphase.recording.units import Unit, unit_names, unit_of_text

EYE_H_ROLES = ("eye_h_right", "eye_h_left")
EYE_ROLES = (
    *EYE_H_ROLES,
    "eye_v_right",
    "eye_v_left",
    "eye_t_right",
    "eye_t_left",
)
TURNED_ROLES = (*EYE_H_ROLES, "eye_v_right", "eye_v_left")  # a calibration trial gives degrees
PASSED_ROLES = ("pupil_right", "pupil_left", "target_h", "target_v", "emg", "marker")
HEAD_ROLES = ("head_velocity", "head_position")
HEAD_AXIS_ROLES = ("head_velocity_yaw", "head_velocity_pitch", "head_velocity_roll")
ROLES = ("time", *HEAD_ROLES, *HEAD_AXIS_ROLES, *EYE_ROLES, *PASSED_ROLES)

_FIELDS = ("name", "unit", "scale", "offset", "positive")
_SIGNS = {"right": 1.0, "left": -1.0, "up": 1.0, "down": -1.0}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: value = (raw·scale + offset)·factor of the unit, negated for left and down.

    ``name`` is the name in the header, or the number of the column from 1 where there is none.
    ``scale`` is in unit per raw unit; for px and volts it is in deg (deg/s) per px or volt.
    ``unit`` is None for channels that pass through as they are. ``scaled`` says whether the map
    gives the scale.
    """

    role: str
    name: str | int
    unit: Unit | None = None
    scale: float = 1.0
    offset: float = 0.0
    sign: float = 1.0
    scaled: bool = False

    @property
    def is_raw(self) -> bool:
        """Whether nothing here says how many degrees a raw value is."""
        return self.unit is not None and self.unit.quantity == "uncalibrated" and not self.scaled

    @property
    def slope(self) -> float:
        """What a raw value is multiplied by."""
        return self.scale * self._factor * self.sign

    @property
    def intercept(self) -> float:
        """What is then added."""
        return self.offset * self._factor * self.sign

    @property
    def _factor(self) -> float:
        return self.unit.factor if self.unit is not None and self.unit.factor else 1.0


@dataclass(frozen=True, slots=True)
class MapPlace:
    """Where a column map stands in session.toml."""

    lines: TomlLines
    table: str
    index: int = 0
    trial: str | None = None

    def line(self, role: str) -> int | None:
        """The line of a role."""
        return self.lines.of(self.table, role, index=self.index)


def parse_columns(table: object, place: MapPlace) -> tuple[dict[str, Column], tuple[Problem, ...]]:
    """The columns of a ``[columns]`` table by role, and what is wrong with the table."""
    if not isinstance(table, Mapping):
        problem = _problem("wrong_type", place, "columns", found=table, expected="a table of roles")
        return {}, (problem,)
    columns: dict[str, Column] = {}
    problems: list[Problem] = []
    for role, entry in table.items():
        found = _parse_column(role, entry, place)
        if isinstance(found, Column):
            columns[role] = found
        else:
            problems.append(found)
    return columns, tuple(problems)


def _parse_column(role: str, entry: object, place: MapPlace) -> Column | Problem:
    if role not in ROLES:
        return _unknown_role(role, place)
    if isinstance(entry, str | int) and not isinstance(entry, bool):
        entry = {"name": entry}
    if not isinstance(entry, Mapping):
        expected = 'a table such as { name = "Rx", unit = "deg" }'
        return _problem("wrong_type", place, role, found=entry, expected=expected)
    return _bad_field(role, entry, place) or _with_unit(role, entry, place)


def _bad_field(role: str, entry: Mapping[str, object], place: MapPlace) -> Problem | None:
    for field in entry:
        if field not in _FIELDS:
            expected = "only " + ", ".join(_FIELDS)
            return _problem("unknown_key", place, role, found=field, expected=expected)
    if not _is_name(entry.get("name")):
        expected = "name = a header text, or the number of the column from 1"
        return _problem("missing_key", place, role, found=entry.get("name"), expected=expected)
    for field in ("scale", "offset"):
        if not is_number(entry.get(field, 1.0)) or (field == "scale" and entry.get(field) == 0):
            expected = f"{field} = a number{' other than 0' if field == 'scale' else ''}"
            return _problem("wrong_type", place, role, found=entry[field], expected=expected)
    if str(entry.get("positive", "right")) not in _SIGNS:
        expected = 'positive = "right", "left", "up" or "down"'
        return _problem("wrong_value", place, role, found=entry["positive"], expected=expected)
    return None


def _is_name(name: object) -> bool:
    if isinstance(name, bool):
        return False
    return (isinstance(name, int) and name >= 1) or (isinstance(name, str) and bool(name.strip()))


def _with_unit(role: str, entry: Mapping[str, object], place: MapPlace) -> Column | Problem:
    unit = unit_of_text(str(entry.get("unit", "")))
    if role in PASSED_ROLES:
        return _column(role, entry, unit if unit and unit.quantity == "angle" else None)
    allowed = units_of(role)
    expected = f"unit = one of {', '.join(allowed)}"
    if "unit" not in entry:
        return _problem("missing_unit", place, role, found=None, expected=expected)
    if unit is None or unit.name not in allowed:
        return _problem("unknown_unit", place, role, found=entry["unit"], expected=expected)
    if unit.quantity == "uncalibrated" and "scale" not in entry and role not in TURNED_ROLES:
        return not_in_degrees(role, unit, place)
    return _column(role, entry, unit)


def units_of(role: str) -> tuple[str, ...]:
    """The names of the units that a column of a role may have; none where it needs none."""
    return () if role in PASSED_ROLES else unit_names(*_quantities(role))


def _quantities(role: str) -> tuple[str, ...]:
    if role == "time":
        return ("time",)
    turning = role == "head_velocity" or role in HEAD_AXIS_ROLES
    return ("velocity" if turning else "angle", "uncalibrated")


def _column(role: str, entry: Mapping[str, object], unit: Unit | None) -> Column:
    name = entry["name"]
    return Column(
        role=role,
        name=name if isinstance(name, int) else str(name),
        unit=unit,
        scale=float(str(entry.get("scale", 1.0))),
        offset=float(str(entry.get("offset", 0.0))),
        sign=_SIGNS[str(entry.get("positive", "right"))],
        scaled="scale" in entry,
    )


def not_in_degrees(role: str, unit: Unit, place: MapPlace) -> Problem:
    """The problem of a column whose unit leaves open how far the eye or the chair moved."""
    return make_problem(
        "not_in_degrees",
        f"the unit {unit.name} says nothing of degrees",
        expected=f"a scale in degrees per {unit.name} beside it{_or_calibration(role)}",
        remedy="take the scale from the recorder's calibration and add scale = … to the column",
        found=unit.name,
        trial=place.trial,
        line=place.line(role),
        key=role,
    )


def _or_calibration(role: str) -> str:
    return ", or a calibration trial in the same unit" if role in TURNED_ROLES else ""


def _unknown_role(role: str, place: MapPlace) -> Problem:
    near = get_close_matches(role, ROLES, n=1)
    expected = f'"{near[0]}"' if near else "one of " + ", ".join(ROLES)
    return _problem("unknown_role", place, role, found=role, expected=expected)


def _problem(code: str, place: MapPlace, role: str, *, found: object, expected: str) -> Problem:
    return make_problem(
        code,
        "nothing was found" if found is None else f"found {quote(found)}",
        expected=expected,
        remedy="correct the column map",
        found=found,
        trial=place.trial,
        line=place.line(role),
        key=role,
    )
