import { expect, test } from "vitest";
import type { LessonTrial } from "../src/api/further_types";
import type { Trial } from "../src/api/types";
import { BadLesson, decodeLesson, type Shown } from "../src/pages/teach/lesson_format";
import { matchOf, shiftOf } from "../src/pages/teach/matching";
import { HEALTHY, isPreset, lookAt, PRESETS, type Preset, presetPerson } from "../src/pages/teach/person";
import { changesOf, heightOf, type Overlay, steps, thinned } from "../src/pages/teach/pictures";
import { Latest } from "../src/state/latest";
import { en } from "../src/text/en";

const trial = (part: Partial<LessonTrial> = {}): LessonTrial => ({
  id: "a", kind: "sinusoid", vision: "dark", title: "A", frequency_hz: 0.1, direction: null, moves_at_s: 3,
  start_s: 0, step_s: 0.5, samples: 4, offset: 0, measures: [], ...part,
});

function encoded(trials: LessonTrial[], floats: number[]): ArrayBuffer {
  const header = new TextEncoder().encode(JSON.stringify({ trials }));
  const length = Math.ceil(header.length / 4) * 4;
  const buffer = new ArrayBuffer(4 + length + 4 * floats.length);
  new DataView(buffer).setUint32(0, length, true);
  new Uint8Array(buffer, 4, length).fill(32).set(header);
  new Float32Array(buffer, 4 + length).set(floats);
  return buffer;
}

test("each trial of a lesson has its own chair and slow phase", () => {
  const lesson = decodeLesson(encoded([trial({ samples: 2 }), trial({ id: "b", samples: 1, offset: 4 })], [1, 2, 3, 4, 5, 6]));
  expect([...(lesson.get("a")?.slow_deg_s ?? [])]).toEqual([3, 4]);
  expect([...(lesson.get("b")?.head_deg_s ?? [])]).toEqual([5]);
});

test("a lesson of another length than its header says is refused", () => {
  expect(() => decodeLesson(encoded([trial({ samples: 2 })], [1, 2, 3]))).toThrow(BadLesson);
  expect(() => decodeLesson(new ArrayBuffer(2))).toThrow(BadLesson);
});

test("the change of a step that stops the chair is where it leaves its full speed", () => {
  const head = Float32Array.from([0, 0, 60, 60, 60, 20, 0]);
  const shown: Shown = { trial: trial({ kind: "step", moves_at_s: 0.5, samples: 7 }), head_deg_s: head, slow_deg_s: head };
  expect(changesOf(shown)).toEqual({ per_s: 0.5, post_s: 2 });
});

test("a thinned trace keeps its times and breaks where there is nothing", () => {
  const values = Float32Array.from([1, NaN, 3, 4]);
  const shown: Shown = { trial: trial(), head_deg_s: values, slow_deg_s: values };
  expect(thinned(values, shown, { from_s: 0.5, to_s: 1.5, zero_s: 0.5, factor: -1 })).toEqual({ x: [0, 0.5, 1], y: [null, -3, -4] });
});

test("the height of a picture goes in steps and holds every value", () => {
  const curve = (y: (number | null)[]) => ({ x: y.map((_, index) => index), y, colour: "slow" as const, width: 1 });
  expect(heightOf([curve([1, -21, null])])).toEqual([-30, 30]);
  expect(heightOf([curve([29])])).toEqual([-30, 30]);
});

const word = (key: string): string => en[key as "app.name"];
const stepWords = { since: "s", velocity: "v", against: "a", say: word };
const stepOf = (direction: "right" | "left"): Shown => {
  const head = Float32Array.from({ length: 200 }, (_, index) => (index > 1 && index < 100 ? 60 : 0));
  return { trial: trial({ id: direction, kind: "step", direction, moves_at_s: 1, samples: 200 }), head_deg_s: head, slow_deg_s: head };
};

test("each response to a step is named by side and by start or stop, the labels apart, L dashed", () => {
  const own = [stepOf("right"), stepOf("left")];
  const line = { x: [0, 20, 40], y: [30, 20, 10] };
  const overlay: Overlay = new Map(["right per", "right post", "left per", "left post"].map((key) => [key, line]));
  const { picture, notes } = steps(own, new Map(own.map((one) => [one.trial.id, one])), overlay, stepWords);
  for (const colour of ["slow", "fit"]) {
    const named = picture.curves.filter((curve) => curve.colour === colour);
    expect(named.map(({ label }) => label).sort()).toEqual(["L per", "L post", "R per", "R post"]);
    expect(named.every(({ label, dash }) => label?.startsWith("L") === (dash !== undefined))).toBe(true);
  }
  const places = picture.curves.flatMap(({ labelAt }) => labelAt ?? []).sort((one, other) => one - other);
  expect(places).toHaveLength(8);
  expect(places.slice(1).every((at, index) => at - (places[index] ?? 0) > 5)).toBe(true);
  expect(picture.curves.filter(({ colour }) => colour === "faint").every(({ label }) => label === undefined)).toBe(true);
  expect(notes?.join(" ")).toMatch(/ost-rotatory responses still hold what is left of the earlier one.*nystagmus left in/);
});

test("without a patient nothing is said of a nystagmus left in", () => {
  expect(steps([stepOf("right")], new Map(), new Map(), stepWords).notes).toHaveLength(1);
});

const recorded = (part: Partial<Trial>): Trial => ({ id: "x", kind: "sinusoid", vision: null, outcome: "done", stimulus: { frequency_hz: 0.1 }, ...part }) as Trial;

test("a patient's trial lies over the lesson's of the same kind, frequency, direction and vision", () => {
  const trials = [recorded({ vision: "light" }), recorded({ id: "y", stimulus: { frequency_hz: 0.32 } }), recorded({ id: "z" })];
  expect(matchOf(trial(), trials)?.id).toBe("z");
  const step = recorded({ id: "left", kind: "step", stimulus: { direction: "left" } });
  expect(matchOf(trial({ kind: "step", frequency_hz: null, direction: "right" }), [step])).toBeUndefined();
});

test("the recording is moved so that both chairs begin to move at once", () => {
  const found = { start_s: 100, cycles: [{ number: 1, start_s: 104, stop_s: 114 }], changes: [] };
  expect(shiftOf(trial(), found)).toBe(-101);
  expect(shiftOf(trial({ kind: "spontaneous", moves_at_s: null }), found)).toBe(-100);
});

test("every preset is itself and is told by a sentence of its own", () => {
  const told = (Object.keys(PRESETS) as Preset[]).map((name) => {
    const person = presetPerson(name, 30);
    expect(isPreset(name, person)).toBe(true);
    const keys = lookAt(person);
    expect(keys.every((key) => key in en)).toBe(true);
    return keys.join();
  });
  expect(new Set(told).size).toBe(told.length - 1); // loss of the right and of the left are told alike
  expect(isPreset("healthy", { ...HEALTHY, right: 0.5 })).toBe(false);
});

test("while one call runs only the last wish waits", async () => {
  const called: number[] = [];
  const arrived: number[] = [];
  const latest = new Latest<number, number>(
    (wish) => {
      called.push(wish);
      return new Promise((done) => setTimeout(() => done(wish), 3));
    },
    (answer) => arrived.push(answer),
    () => undefined,
  );
  for (const wish of [1, 2, 3, 4]) latest.ask(wish);
  await new Promise((wake) => setTimeout(wake, 30));
  expect(called).toEqual([1, 4]);
  expect(arrived).toEqual([1, 4]);
});
