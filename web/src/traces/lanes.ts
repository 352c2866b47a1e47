/** The lanes below the traces: quick phases as ticks, and each reason why samples are not used. */
import type { QuickPhase, TrialAnswer, Unused } from "../api/types";
import { t } from "../text/text";
import { word } from "../state/about";
import { type Frame, lostRuns, spanRuns } from "./envelope";
import type { Palette } from "./palette";
import { clipTo } from "./panel";
import type { TraceWindow } from "./window_format";

/** Narrower marks than this, in CSS pixels, would not be seen. */
const LEAST_PX = 2;

export interface Lane {
  readonly label: string;
  readonly beats?: readonly QuickPhase[];
  readonly refused_s?: readonly number[];
  readonly runs?: readonly Unused[];
  /** Eyes in use: where all of them are lost is drawn from the window itself, whatever the zoom. */
  readonly lostIn?: readonly string[];
}

/** The lanes of a trial from top to bottom. */
export function lanesOf(trial: TrialAnswer): Lane[] {
  return [...beatLanes(trial), lostLane(trial), ...reasonLanes(trial)];
}

function beatLanes(trial: TrialAnswer): Lane[] {
  const flat = trial.quick_phases.filter((beat) => beat.plane === "horizontal");
  const upright = trial.quick_phases.filter((beat) => beat.plane === "vertical");
  const refused_s = trial.by_hand.not_quick_s;
  const lanes: Lane[] = [
    { label: t("lane.beats_right"), beats: flat.filter((beat) => (beat.amplitude_deg ?? 0) >= 0), refused_s },
    { label: t("lane.beats_left"), beats: flat.filter((beat) => (beat.amplitude_deg ?? 0) < 0), refused_s },
  ];
  return upright.length && !flat.length ? [...lanes, { label: t("lane.beats_vertical"), beats: upright }] : lanes;
}

function lostLane(trial: TrialAnswer): Lane {
  return { label: t("lane.lost"), runs: trial.unused.filter((run) => run.reason === "lost"), lostIn: eyesInUse(trial) };
}

/** The recorded channels behind the position: excluded samples are not lost in them. */
export function eyesInUse(trial: TrialAnswer): string[] {
  const flat = trial.channels.filter((channel) => channel.plane === "horizontal");
  const eyes = flat.filter((channel) => channel.role === "eye" && (trial.eye === "both" || channel.side === null || channel.side === trial.eye));
  return (eyes.length ? eyes : flat.filter((channel) => channel.role === "position")).map((channel) => channel.id);
}

function reasonLanes(trial: TrialAnswer): Lane[] {
  const aside = new Set(["lost", "quick_phase"]);
  const reasons = [...new Set(trial.unused.map((run) => run.reason))].filter((reason) => !aside.has(reason));
  return reasons.map((reason) => ({
    label: shortWord(reason),
    runs: trial.unused.filter((run) => run.reason === reason),
  }));
}

/** The first words of a reason: a lane has room for no more. */
function shortWord(reason: string): string {
  return (word("unused", reason).split(/[:,(]| of /)[0] ?? reason).trim();
}

export function drawLanes(
  context: CanvasRenderingContext2D,
  frame: Frame,
  ratio: number,
  lanes: readonly Lane[],
  window: TraceWindow | null,
  palette: Palette,
): void {
  const height = (frame.bottom - frame.top) / lanes.length;
  lanes.forEach((lane, index) => drawLabel(context, frame, frame.top + (index + 0.5) * height, lane.label, palette, ratio));
  clipTo(context, frame);
  lanes.forEach((lane, index) => drawLane(context, { ...frame, top: frame.top + index * height, bottom: frame.top + (index + 1) * height }, ratio, lane, window, palette));
}

function drawLabel(context: CanvasRenderingContext2D, frame: Frame, y: number, label: string, palette: Palette, ratio: number): void {
  context.font = palette.font.replace(/^([\d.]+)px/, (_, size: string) => `${Number(size) * ratio}px`);
  context.fillStyle = palette.ink;
  context.textAlign = "right";
  context.textBaseline = "middle";
  context.fillText(label, frame.left - 6 * ratio, y, frame.left - 8 * ratio);
}

function drawLane(context: CanvasRenderingContext2D, frame: Frame, ratio: number, lane: Lane, window: TraceWindow | null, palette: Palette): void {
  context.fillStyle = palette.grid;
  context.fillRect(frame.left, Math.round(frame.bottom) - ratio, frame.right - frame.left, ratio / 2);
  if (lane.beats) drawBeats(context, frame, ratio, lane, palette);
  const runs = [...spanRuns(lane.runs ?? [], frame, LEAST_PX * ratio), ...lostIn(lane, frame, ratio, window)];
  fillRuns(context, frame, runs, palette.ink, ratio, 0.24);
}

function lostIn(lane: Lane, frame: Frame, ratio: number, window: TraceWindow | null): [number, number][] {
  return window && lane.lostIn ? lostRuns(window, lane.lostIn, frame, LEAST_PX * ratio) : [];
}

function drawBeats(context: CanvasRenderingContext2D, frame: Frame, ratio: number, lane: Lane, palette: Palette): void {
  const beats = lane.beats ?? [];
  const ticks = beats.map(({ start_s, stop_s }) => ({ start_s: (start_s + stop_s) / 2, stop_s: (start_s + stop_s) / 2 }));
  fillRuns(context, frame, spanRuns(beats, frame, 0), palette.rule, ratio, 0.42);
  fillRuns(context, frame, spanRuns(ticks, frame, 1.5 * ratio), palette.ink, ratio, 0.12);
  for (const beat of beats) if (beat.by_hand) mark(context, frame, beat.start_s, "+", palette);
  for (const at_s of lane.refused_s ?? []) mark(context, frame, at_s, "×", palette);
}

function fillRuns(context: CanvasRenderingContext2D, frame: Frame, runs: readonly [number, number][], colour: string, ratio: number, inset: number): void {
  const spare = inset * (frame.bottom - frame.top);
  context.fillStyle = colour;
  for (const [from, to] of runs) context.fillRect(from, frame.top + spare, Math.max(to - from, ratio), frame.bottom - frame.top - 2 * spare);
}

function mark(context: CanvasRenderingContext2D, frame: Frame, at_s: number, sign: string, palette: Palette): void {
  const x = frame.left + ((at_s - frame.start_s) / (frame.stop_s - frame.start_s)) * (frame.right - frame.left);
  if (x < frame.left || x > frame.right) return;
  context.fillStyle = palette.fit;
  context.textAlign = "center";
  context.fillText(sign, x, (frame.top + frame.bottom) / 2);
}
