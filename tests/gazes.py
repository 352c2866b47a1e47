"""Eyes that look aside, made by another generator than the project's simulator. Invented."""

import numpy as np
from irrigations import RATE_HZ, wander

from slowphase.recording.trial import Recording, Trial


def looking(
    place_deg,
    *,
    leak=0.0,
    bias=0.0,
    up_deg_s=0.0,
    rebound=0.0,
    seed=0,
    vision="dark",
    plane="h",
    length_s=22.0,
    back_s=None,
    name=None,
    torsion_deg_s=None,
    **keys,
):
    """An eye of another make than the simulator's: it goes out at 2 s, runs back at ``leak`` times
    its place, and beats out again when it is 2 to 5 deg off. ``back_s``: it returns to 0."""
    rng = np.random.default_rng(seed)
    time_s = np.arange(round(length_s * RATE_HZ)) / RATE_HZ
    other = wander(time_s.size, rng)
    goal = np.where(time_s >= 2.0, place_deg, 0.0)
    if back_s is not None:
        goal = np.where(time_s >= back_s, 0.0, goal)
        other = other + np.where(time_s >= back_s, rebound * np.exp(-(time_s - back_s) / 5.0), 0.0)
    eye = following(goal, leak, bias, other, rng)
    still = following(np.zeros(time_s.size), 0.0, up_deg_s, wander(time_s.size, rng), rng)
    across, up = (eye, still) if plane == "h" else (still, eye)
    noise = rng.normal(0.0, 0.06, (3, time_s.size))
    channels = {"eye_h_right": across + noise[0], "eye_v_right": up + noise[1]}
    if torsion_deg_s is not None:
        turned = following(np.zeros(time_s.size), 0.0, torsion_deg_s, 0.0 * other, rng)
        channels["eye_t_right"] = turned + noise[2]
    stimulus = {"eccentricity_deg": place_deg, **keys}
    recording = Recording(time_s, RATE_HZ, channels)
    name = name or f"{plane}{place_deg:g}-{vision}"
    return Trial(id=name, kind="gaze", vision=vision, stimulus=stimulus, recording=recording)


def following(goal_deg, leak, bias, other, rng):
    """Eye position; quick phases of 25 ms bring it back to about the goal."""
    position, at, index, limit = np.zeros(goal_deg.size), 0.0, 0, rng.uniform(2.0, 5.0)
    while index < goal_deg.size:
        at += (bias - leak * at + other[index]) / RATE_HZ
        position[index] = at
        if abs(at - goal_deg[index]) > limit:
            samples = 3
            stop = min(index + 1 + samples, goal_deg.size)
            to = goal_deg[index] + rng.normal(0.0, 0.5) + 0.3 * np.sign(goal_deg[index] - at)
            position[index + 1 : stop] = np.linspace(at, to, samples + 1)[1 : stop - index]
            at, index, limit = to, stop - 1, rng.uniform(2.0, 5.0)
        index += 1
    return position
