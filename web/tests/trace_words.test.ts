import { expect, test } from "vitest";
import type { QuickPhase, TrialAnswer } from "../src/api/types";
import { beatWords, summaryOf } from "../src/pages/trial/trace_words";

const beat = (plane: QuickPhase["plane"], amplitude_deg: number | null): QuickPhase =>
  ({ plane, amplitude_deg, peak_velocity_deg_s: amplitude_deg && 20 * amplitude_deg, start_s: 1, stop_s: 1.1, by_hand: false });
const run = (plane: QuickPhase["plane"], start_s: number, stop_s: number, reason = "excluded") => ({ plane, start_s, stop_s, reason });
const trial = (part: object): TrialAnswer =>
  ({ start_s: 0, stop_s: 60, channels: [{ plane: "horizontal" }, { plane: "vertical" }], quick_phases: [], unused: [], ...part }) as unknown as TrialAnswer;

test("a stretch that both planes leave out is told once with its own length", () => {
  const told = summaryOf(trial({ unused: [run("horizontal", 10, 36.5), run("vertical", 10, 36.5), run("vertical", 40, 41, "blink")] }));
  expect(told).toContain("1 stretch, 26.5 s");
  expect(told).not.toContain("53");
  expect(told.match(/stretch/g)).toHaveLength(1);
});

test("stretches of one reason that overlap are one", () => {
  expect(summaryOf(trial({ unused: [run("horizontal", 20, 24), run("horizontal", 10, 15), run("horizontal", 14, 16)] }))).toContain("2 stretches, 10.0 s");
});

test("quick phases of the horizontal plane are counted, of another only where there is none", () => {
  const quick_phases = [beat("horizontal", 3), beat("vertical", 3), beat("vertical", 2)];
  expect(summaryOf(trial({ quick_phases }))).toContain("with 1 quick phase.");
  expect(summaryOf(trial({ channels: [{ plane: "vertical" }], quick_phases: quick_phases.slice(1) }))).toContain("with 2 quick phases.");
});

test("a chosen quick phase is told with its side and its size without a sign", () => {
  expect(beatWords(beat("horizontal", 12.3))).toMatch(/^R, .*12\.3/);
  expect(beatWords(beat("horizontal", -12.3))).toMatch(/^L, [^-−]*12\.3/);
  expect(beatWords(beat("vertical", 4))).toMatch(/^up, /);
  expect(beatWords(beat("vertical", -4))).toMatch(/^down, /);
  expect(beatWords(beat("horizontal", null))).not.toMatch(/^[RL]/);
});
