/** Which of a patient's trials lies over which of a lesson, and where its time begins. Pure. */
import type { LessonTrial } from "../../api/further_types";
import type { Trial, TrialAnswer } from "../../api/types";

const NEAR = 0.1;

/** The first trial of a session with the same kind, frequency, direction and vision. */
export function matchOf(lesson: LessonTrial, trials: readonly Trial[]): Trial | undefined {
  return trials.find((trial) =>
    trial.kind === lesson.kind && (trial.vision ?? "dark") === lesson.vision && trial.outcome !== "not done" &&
    sameFrequency(lesson.frequency_hz, trial.stimulus["frequency_hz"]) &&
    (lesson.direction === null || trial.stimulus["direction"] === lesson.direction));
}

export const LAID_OVER = new Set(["spontaneous", "sinusoid", "step"]);

function sameFrequency(asked: number | null, found: unknown): boolean {
  if (asked === null) return true;
  return typeof found === "number" && Math.abs(found / asked - 1) < NEAR;
}

/** What is added to a time of the recording so that the chair begins to move when the lesson's does. */
export function shiftOf(lesson: LessonTrial, trial: Pick<TrialAnswer, "cycles" | "changes" | "start_s">): number {
  const begins = lesson.kind === "sinusoid" ? trial.cycles[0]?.start_s : trial.changes[0]?.at_s;
  return lesson.moves_at_s === null || begins === undefined ? lesson.start_s - trial.start_s : lesson.moves_at_s - begins;
}
