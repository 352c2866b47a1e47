/** The small pictures of a lesson: this person, the healthy one, and a patient's traces over them. Pure. */
import type { Key } from "../../text/text";
import { type Curve, type CurvePicture } from "../../traces/curve_plot";
import type { Lesson, Shown } from "./lesson_format";

/** A patient's slow phase by the lesson's trial, on its own axis; of a step by change ("ID per"), in time since it. */
export type Overlay = ReadonlyMap<string, { readonly x: readonly number[]; readonly y: readonly (number | null)[] }>;

export interface Small {
  readonly id: string;
  readonly title: string;
  readonly picture: CurvePicture;
  readonly wide?: boolean;
  /** What has to be known to read it, said under it. */
  readonly notes?: readonly string[];
}

export interface Words {
  readonly since: string;
  readonly velocity: string;
  readonly against: string;
  readonly say: (key: Key) => string;
}

const POINTS = 700;
const DASHED = [6, 4];
const DOTTED = [1.5, 3];
const HEIGHTS = [5, 10, 20, 30, 50, 75, 100, 150, 200, 300, 500];
const CYCLES = 2;
const AFTER_STEP_S = 45;
/** Room along the time axis for each label, those of the patient after those of the person. */
const LABEL_S = 5.4;
const LABELS = ["right per", "left per", "right post", "left post"];

type Place = (shown: Shown) => { readonly from_s: number; readonly to_s: number; readonly zero_s: number; readonly factor: number };

export function picturesOf(person: Lesson, healthy: Lesson, overlay: Overlay, words: Words): Small[] {
  const all = [...person.values()];
  const of = (kind: string): Shown[] => all.filter(({ trial }) => trial.kind === kind);
  const single = (shown: Shown, place: Place): Small => ({
    id: shown.trial.id,
    title: shown.trial.title,
    picture: small(layers([shown], healthy, overlay, place), words),
  });
  return [
    steps(of("step"), healthy, overlay, words),
    { id: "spontaneous", title: words.say("teach.spontaneous"), picture: small(layers(of("spontaneous"), healthy, overlay, whole), words) },
    ...of("sinusoid").map((shown) => single(shown, twoCycles)),
    ...ears(of("caloric"), healthy, words),
    ...of("impulse").map((shown) => single(shown, against)),
  ];
}

const whole: Place = ({ trial }) => ({ from_s: trial.start_s, to_s: trial.start_s + trial.samples * trial.step_s, zero_s: trial.start_s, factor: 1 });
const twoCycles: Place = (shown) => {
  const from_s = shown.trial.moves_at_s ?? 0;
  return { from_s, to_s: from_s + CYCLES / (shown.trial.frequency_hz ?? 1), zero_s: from_s, factor: 1 };
};
/** The eye of an impulse goes against the head; it is turned over so that they can be compared. */
const against: Place = (shown) => ({ ...whole(shown), factor: -1 });

function ears(irrigations: readonly Shown[], healthy: Lesson, words: Words): Small[] {
  return (["right", "left"] as const).flatMap((ear) => {
    const own = irrigations.filter(({ trial }) => trial.id.includes(`-${ear}-`));
    if (!own.length) return [];
    const title = words.say(ear === "right" ? "teach.caloric_right" : "teach.caloric_left");
    return [{ id: `caloric-${ear}`, title, picture: small(layers(own, healthy, new Map(), whole), words) }];
  });
}

/** Chair, healthy, person, patient, in this order from back to front; the second of a pair is dashed. */
function layers(own: readonly Shown[], healthy: Lesson, overlay: Overlay, place: Place): Curve[] {
  const [first] = own;
  const chair = own.length === 1 && first && first.head_deg_s.some((value) => value !== 0) ? [headCurve(first, place(first))] : [];
  return [
    ...chair,
    ...own.flatMap((shown, index) => {
      const other = healthy.get(shown.trial.id);
      return other ? [slowCurve(other, place(other), "healthy", index)] : [];
    }),
    ...own.map((shown, index) => slowCurve(shown, place(shown), "person", index)),
    ...own.flatMap((shown) => patientCurve(overlay, shown.trial.id, place(shown))),
  ];
}

function patientCurve(overlay: Overlay, key: string, { from_s, to_s, zero_s, factor }: ReturnType<Place>): Curve[] {
  const line = overlay.get(key);
  if (!line) return [];
  const inside = line.x.map((at, index) => [at, line.y[index] ?? null] as const).filter(([at]) => at >= from_s && at <= to_s);
  return [{ x: inside.map(([at]) => at - zero_s), y: inside.map(([, value]) => (value === null ? null : factor * value)), colour: "fit", width: 1.2 }];
}

function headCurve(shown: Shown, place: ReturnType<Place>): Curve {
  return { ...thinned(shown.head_deg_s, shown, { ...place, factor: 1 }), colour: "faint", width: 1.2, dash: DOTTED };
}

function slowCurve(shown: Shown, place: ReturnType<Place>, who: "person" | "healthy", index: number): Curve {
  const dash = index % 2 ? { dash: DASHED } : {};
  const points = thinned(shown.slow_deg_s, shown, place);
  return who === "person" ? { ...points, colour: "slow", width: 1.8, ...dash } : { ...points, colour: "faint", width: 3, alpha: 0.75, ...dash };
}

/** No more points than a small picture can show; the traces of a lesson are smooth. */
export function thinned(values: Float32Array, { trial }: Shown, { from_s, to_s, zero_s, factor }: ReturnType<Place>): { x: number[]; y: (number | null)[] } {
  const from = Math.max(Math.ceil((from_s - trial.start_s) / trial.step_s - 1e-6), 0);
  const to = Math.min(Math.floor((to_s - trial.start_s) / trial.step_s + 1e-6), values.length - 1);
  const stride = Math.max(Math.ceil((to - from) / POINTS), 1);
  const [x, y]: [number[], (number | null)[]] = [[], []];
  for (let index = from; index <= to; index += stride) {
    const value = values[index] ?? NaN;
    x.push(trial.start_s + index * trial.step_s - zero_s);
    y.push(Number.isNaN(value) ? null : factor * value);
  }
  return { x, y };
}

/** When the chair begins to move and when it is stopped. */
export function changesOf({ trial, head_deg_s }: Shown): { per_s: number; post_s: number } {
  const fastest = head_deg_s.reduce((most, value) => Math.max(most, Math.abs(value)), 0);
  let last = head_deg_s.length - 1;
  while (last > 0 && Math.abs(head_deg_s[last] ?? 0) < 0.999 * fastest) last -= 1;
  return { per_s: trial.moves_at_s ?? 0, post_s: trial.start_s + last * trial.step_s };
}

/** Each change of chair velocity on one axis of time since it, per- and post-rotatory; R full, L dashed. */
export function steps(trials: readonly Shown[], healthy: Lesson, overlay: Overlay, words: Words): Small {
  const curves = trials.flatMap((shown) => {
    const { per_s, post_s } = changesOf(shown);
    const right = shown.trial.direction === "right";
    return [...stepCurves(shown, "per", [per_s, post_s], right), ...stepCurves(shown, "post", [post_s, Infinity], !right)];
  });
  function stepCurves(shown: Shown, of: "per" | "post", [from_s, until_s]: [number, number], excitesRight: boolean): Curve[] {
    const place = { from_s, to_s: Math.min(from_s + AFTER_STEP_S, until_s), zero_s: from_s, factor: excitesRight ? -1 : 1 };
    const index = excitesRight ? 0 : 1;
    const other = healthy.get(shown.trial.id);
    return [
      ...(other ? [slowCurve(other, place, "healthy", index)] : []),
      { ...slowCurve(shown, place, "person", index), ...stepLabel(excitesRight ? "right" : "left", of, 0, words) },
      ...patientCurve(overlay, `${shown.trial.id} ${of}`, { ...place, from_s: 0, to_s: AFTER_STEP_S, zero_s: 0 }).map((curve) => ({
        ...curve,
        ...(index ? { dash: DASHED } : {}),
        ...stepLabel(excitesRight ? "right" : "left", of, LABELS.length, words),
      })),
    ];
  }
  const picture: CurvePicture = { xLabel: words.since, yLabel: words.against, xRange: [0, AFTER_STEP_S], yRange: heightOf(curves), curves: backFirst(curves) };
  const laid = trials.some(({ trial }) => overlay.has(`${trial.id} per`) || overlay.has(`${trial.id} post`));
  const notes = [words.say("teach.post_holds"), ...(laid ? [words.say("teach.nystagmus_in")] : [])];
  return { id: "steps", title: words.say("teach.steps"), picture, wide: true, notes };
}

/** "R per": the side that the change excites, and whether the chair starts or stops; the patient's stand below. */
function stepLabel(side: "right" | "left", of: "per" | "post", after: number, words: Words): Pick<Curve, "label" | "labelAt" | "labelBelow"> {
  const letter = words.say(side === "right" ? "side.right_letter" : "side.left_letter");
  const place = after + LABELS.indexOf(`${side} ${of}`);
  return { label: `${letter} ${words.say(of === "per" ? "teach.per" : "teach.post")}`, labelAt: 1 + LABEL_S * place, labelBelow: after > 0 };
}

function backFirst(curves: readonly Curve[]): Curve[] {
  const order = ["faint", "slow", "fit"];
  return [...curves].sort((one, other) => order.indexOf(one.colour) - order.indexOf(other.colour));
}

function small(curves: readonly Curve[], words: Words): CurvePicture {
  const longest = Math.max(...curves.map(({ x }) => x.at(-1) ?? 0), 0.1);
  return { xLabel: words.since, yLabel: words.velocity, xRange: [0, longest], yRange: heightOf(curves), curves, small: true };
}

/** In few steps, so that a slider seldom moves the scale. */
export function heightOf(curves: readonly Curve[]): [number, number] {
  let most = 0;
  for (const { y } of curves) for (const value of y) if (value !== null && Math.abs(value) > most) most = Math.abs(value);
  const height = HEIGHTS.find((one) => one >= most) ?? most;
  return [-height, height];
}
