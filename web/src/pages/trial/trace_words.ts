/** The traces and their quick phases in words, for those who do not see them. Pure. */
import type { QuickPhase, TrialAnswer, Unused } from "../../api/types";
import { fixed, quantity } from "../../format/number";
import { t } from "../../text/text";
import { lengthOf, type Span } from "../../traces/span";
import { reasonWord } from "./reading_off";

type Plane = QuickPhase["plane"];
type Words = Pick<TrialAnswer, "start_s" | "stop_s" | "channels" | "quick_phases" | "unused">;

/** What one plane of the trial holds: the horizontal one, or that which was recorded without it. */
export function summaryOf(trial: Words): string {
  const plane = planeOf(trial);
  const quick = trial.quick_phases.filter((beat) => beat.plane === plane);
  const reasons = [...new Set(trial.unused.map(({ reason }) => reason))];
  const parts = reasons.flatMap((reason) => {
    const runs = joined(trial.unused.filter((run) => run.reason === reason && run.plane === plane));
    const seconds = fixed(runs.reduce((sum, run) => sum + lengthOf(run), 0), 1);
    return runs.length ? [t("traces.summary_unused", { reason: reasonWord(reason), count: runs.length, seconds })] : [];
  });
  const whole = t("traces.summary", { seconds: fixed(trial.stop_s - trial.start_s, 0), count: quick.length });
  return [whole, ...parts, t("traces.summary_keys")].join(" ");
}

/** The chosen quick phase with its side; of torsion the sign stays, for no letter tells its direction. */
export function beatWords(beat: QuickPhase): string {
  const side = sideOf(beat);
  const size = (value: number | null): number | null => (value === null || !side ? value : Math.abs(value));
  const told = t("beat.told", {
    start: fixed(beat.start_s, 3),
    stop: fixed(beat.stop_s, 3),
    size: quantity(size(beat.amplitude_deg), "deg"),
    speed: quantity(size(beat.peak_velocity_deg_s), "deg/s"),
  });
  return side ? `${side}, ${told}` : told;
}

function sideOf({ plane, amplitude_deg }: QuickPhase): string {
  if (!amplitude_deg || plane === "torsional") return "";
  if (plane === "vertical") return t(amplitude_deg > 0 ? "beat.up" : "beat.down");
  return t(amplitude_deg > 0 ? "side.right_letter" : "side.left_letter");
}

function planeOf({ channels, quick_phases, unused }: Words): Plane {
  const known = new Set([...channels, ...quick_phases, ...unused].map(({ plane }) => plane));
  return (["horizontal", "vertical", "torsional"] as const).find((plane) => known.has(plane)) ?? "horizontal";
}

/** Each moment once: runs that overlap or are told twice are one stretch. */
function joined(runs: readonly Unused[]): Span[] {
  const all: Span[] = [];
  for (const { start_s, stop_s } of [...runs].sort((one, other) => one.start_s - other.start_s)) {
    const last = all.at(-1);
    if (last && start_s <= last.stop_s) all[all.length - 1] = { ...last, stop_s: Math.max(last.stop_s, stop_s) };
    else all.push({ start_s, stop_s });
  }
  return all;
}
