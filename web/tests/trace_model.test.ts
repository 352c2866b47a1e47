import { beforeEach, describe, expect, test } from "vitest";
import type { TrialAnswer } from "../src/api/types";
import { TraceModel } from "../src/traces/model";
import { lengthOf } from "../src/traces/span";

const beat = (start_s: number) => ({ start_s, stop_s: start_s + 0.1, amplitude_deg: 5, peak_velocity_deg_s: 200, plane: "horizontal" as const, by_hand: false });

function trial(part: Partial<TrialAnswer> = {}): TrialAnswer {
  return {
    id: "a", kind: "sinusoid", vision: "dark", outcome: "done", eye: "both", traces: "1", channels: [], start_s: 0, stop_s: 100, sampling_hz: 250, samples: 25_000,
    places: 25_000, step_s: 0.004, cycle_s: null, cycles: [], changes_s: [], changes: [], impulses: 0, quick_phases: [beat(10), beat(20), beat(30)],
    unused: [
      { start_s: 5, stop_s: 6, reason: "blink", plane: "horizontal" },
      { start_s: 10, stop_s: 10.2, reason: "quick_phase", plane: "horizontal" },
      { start_s: 60, stop_s: 80, reason: "lapse", plane: "horizontal" },
    ],
    by_hand: { excluded: [], quick: [], not_quick_s: [] },
    ...part,
  };
}

let model: TraceModel;
beforeEach(() => {
  model = new TraceModel(trial());
});
const view = () => model.state.value.view;

describe("the view", () => {
  test("stays within the recording and keeps its length when it is panned against an end", () => {
    model.show({ start_s: 40, stop_s: 50 });
    model.pan(-50);
    expect(view()).toEqual({ start_s: 0, stop_s: 10 });
    model.pan(50);
    expect(view()).toEqual({ start_s: 90, stop_s: 100 });
  });

  test("zooms about a moment that stays where it is", () => {
    model.show({ start_s: 0, stop_s: 100 });
    model.zoom(0.5, 25);
    expect(view()).toEqual({ start_s: 12.5, stop_s: 62.5 });
  });

  test("never shows less than a few samples or more than the recording", () => {
    for (let turn = 0; turn < 60; turn += 1) model.zoom(0.5);
    expect(lengthOf(view())).toBeCloseTo(8 / 250, 9);
    for (let turn = 0; turn < 60; turn += 1) model.zoom(2);
    expect(view()).toEqual({ start_s: 0, stop_s: 100 });
  });

  test("tells nobody when nothing moves", () => {
    let told = 0;
    model.state.watch(() => (told += 1));
    model.pan(0.5);
    expect(told).toBe(0);
  });
});

describe("choosing", () => {
  test("edges at the cursor make an interval in either order", () => {
    model.point(36);
    model.setEdge("start");
    expect(model.interval).toBeNull();
    model.point(31.5);
    model.setEdge("stop");
    expect(model.interval).toEqual({ start_s: 31.5, stop_s: 36 });
  });

  test("an interval cannot leave the recording, and one without length is none", () => {
    model.choose({ start_s: -5, stop_s: 400 });
    expect(model.interval).toEqual({ start_s: 0, stop_s: 100 });
    model.choose({ start_s: 7, stop_s: 7 });
    expect(model.interval).toBeNull();
  });

  test("quick phases are gone through in both directions and come into view", () => {
    model.show({ start_s: 0, stop_s: 5 });
    model.point(15);
    expect(model.stepBeat(1)?.start_s).toBe(20);
    expect(model.stepBeat(1)?.start_s).toBe(30);
    expect(model.stepBeat(1)).toBeNull();
    expect(model.stepBeat(-1)?.start_s).toBe(20);
    expect(view().start_s).toBeLessThan(20);
    expect(view().stop_s).toBeGreaterThan(20.1);
  });

  test("a click near a tick chooses it, a click elsewhere does not", () => {
    expect(model.beatAt(20.05, 10)?.start_s).toBe(20);
    expect(model.beatAt(20.5, 10)?.start_s).toBe(20); // 4 pixels off
    expect(model.beatAt(25, 10)).toBeNull();
  });

  test("unused stretches leave out the quick phases and are shown whole", () => {
    expect(model.stepUnused(1)?.reason).toBe("lapse");
    expect(view().start_s).toBeLessThanOrEqual(60);
    expect(view().stop_s).toBeGreaterThanOrEqual(80);
    expect(model.stepUnused(-1)?.reason).toBe("blink");
  });
});

test("after an edit view and interval stay, a quick phase that is gone is not chosen any more", () => {
  model.show({ start_s: 10, stop_s: 20 });
  model.choose({ start_s: 12, stop_s: 13 });
  model.stepBeat(1);
  const chosen = model.state.value.beat_s;
  model.replace(trial({ quick_phases: trial().quick_phases.filter((one) => one.start_s !== chosen) }));
  expect(model.beat).toBeNull();
  expect(model.interval).toEqual({ start_s: 12, stop_s: 13 });
});
