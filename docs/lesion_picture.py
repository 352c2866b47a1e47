"""The picture of what each lesion does, drawn from shipped scenarios without noise."""

from pathlib import Path

import numpy as np

from slowphase.cli.scenario_files import shipped
from slowphase.physiology.impulse import Pulse, area_gain
from slowphase.physiology.person import Person
from slowphase.physiology.protocol import head_velocity, sinusoid, step
from slowphase.physiology.scenario import scenario_from
from slowphase.physiology.truth import noise_free_velocity, sinusoid_truth
from slowphase.report.drawing import FAINT, FIT, INK, SLOW, drawing_style, new_figure

PICTURE = Path(__file__).parent / "pictures" / "lesions.svg"
SHOWN = {
    "healthy-young": "healthy",
    "partial-left": "left partial,\nhalf compensated",
    "acute-right": "right lost, acute",
    "compensated-right": "right lost,\ncompensated",
    "two-sided-severe": "both, severe",
}
FREQUENCIES_HZ = np.geomspace(0.005, 1.0, 40)
SPIN_HZ = 4.0
CHAIR_HZ = 0.04
SIDES = (("right", FIT, "R", "-"), ("left", SLOW, "L", "--"))


def draw_lesions() -> None:
    """Write the picture."""
    people = {name: scenario_from(shipped(name)).person for name in SHOWN}
    with drawing_style("lesions"):
        figure = new_figure(9.6, 8.4)
        grid = figure.subplots(4, len(people), sharey="row")
        for column, (name, person) in zip(grid.T, people.items(), strict=True):
            column[0].set_title(SHOWN[name], fontsize=9)
            by_frequency(column[0], column[1], person)
            spin(column[2], person)
            left_over(column[3], person, people["healthy-young"])
        labels = ("gain", "lead (deg)", "slow phase (deg/s)", "% of healthy")
        for axes, label in zip(grid[:, 0], labels, strict=True):
            axes.set_ylabel(label)
        explain(figure, grid)
        figure.savefig(PICTURE, metadata={"Date": None})


def explain(figure, grid) -> None:
    """One legend for all rows."""
    handles, names = grid[0, 0].get_legend_handles_labels()
    (dotted,) = grid[2, 0].plot([], [], ":", color=FAINT)
    (circle,) = grid[3, 0].plot([], [], "o", color=FIT)
    (square,) = grid[3, 0].plot([], [], "s", color=SLOW)
    handles += [dotted, circle, square]
    names += ["without the nystagmus", "R", "L"]
    figure.legend(handles, names, loc="outside upper center", ncols=5)


def by_frequency(gains, leads, person: Person) -> None:
    """Gain of both exciting directions, and phase lead, against frequency."""
    truths = [sinusoid_truth(person, sinusoid(float(f)), 0.0) for f in FREQUENCIES_HZ]
    for side, colour, letter, line in SIDES:
        gain = [truth[f"gain_{side}"] for truth in truths]
        gains.plot(FREQUENCIES_HZ, gain, line, color=colour, label=f"{letter} excited")
    leads.plot(FREQUENCIES_HZ, [truth["phase"] for truth in truths], color=INK)
    gains.set(xscale="log", ylim=(0, 0.75))
    leads.set(xscale="log", ylim=(-5, 105), yticks=(0, 45, 90), xlabel="frequency (Hz)")
    for axes in (gains, leads):
        axes.minorticks_off()


def spin(axes, person: Person) -> None:
    """Slow phase of a spin to the right, with the spontaneous nystagmus and without."""
    plan = step("right")
    time_s = np.arange(0.0, plan.length_s, 1 / SPIN_HZ)
    alone = noise_free_velocity(person, plan, head_velocity(plan, time_s), SPIN_HZ)
    axes.axhline(0.0, color=FAINT, linewidth=0.6)
    if person.spontaneous.bias_deg_s:
        axes.plot(time_s, alone, ":", color=FAINT)
    axes.plot(time_s, alone + person.spontaneous.bias_deg_s, color=INK)
    axes.set(xlabel="time (s)", ylim=(-72, 72), xticks=(0, 60, 120))


def left_over(axes, person: Person, healthy: Person) -> None:
    """Calorics, chair and impulses of both sides against the healthy person's."""
    for side, colour, letter, _ in SIDES:
        tests = (_caloric, _chair, _impulse)
        shares = [100 * test(person, side) / test(healthy, side) for test in tests]
        offset = 0.12 if side == "right" else -0.12
        axes.plot(np.arange(3) - offset, shares, "o" if letter == "R" else "s", color=colour)
    axes.axhline(100.0, color=FAINT, linewidth=0.6)
    axes.set(xlim=(-0.5, 2.5), ylim=(0, 112))
    axes.set_xticks(range(3), labels=["caloric", "chair", "impulse"], fontsize=7)


def _caloric(person: Person, side: str) -> float:
    return getattr(person.caloric, side)


def _chair(person: Person, side: str) -> float:
    return float(sinusoid_truth(person, sinusoid(CHAIR_HZ), 0.0)[f"gain_{side}"] or 0.0)


def _impulse(person: Person, side: str) -> float:
    return area_gain(person.impulses, Pulse(0.0, 1 if side == "right" else -1, 200.0, 0.17))
