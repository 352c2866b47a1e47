import { expect, test } from "vitest";
import { lostRuns, spanRuns } from "../src/traces/envelope";
import { decodeWindow } from "../src/traces/window_format";
import { encodedWindow } from "./encoded_window";

const FRAME = { left: 0, right: 1000, top: 0, bottom: 100, low: -1, high: 1 };

/** A recording of half an hour in columns, with one drop-out of 0.2 s. */
function halfHour(columns: number, lost: readonly string[]) {
  const step_s = 1800 / columns;
  const at = Math.floor(900.3 / step_s);
  const upTo = Math.floor(900.5 / step_s);
  const list = (id: string) => ({
    low: new Array<number>(columns).fill(0),
    high: new Array<number>(columns).fill(0),
    missing: Array.from({ length: columns }, (_, index) => (lost.includes(id) && index >= at && index <= upTo ? 1 : 0)),
  });
  return decodeWindow(encodedWindow({ start_s: 0, step_s, exact: false }, { right: list("right"), left: list("left") }));
}

test.each([1, 10, 60, 600, 1800])("a drop-out of 0.2 s can be seen with %d s in view", (length) => {
  const window = halfHour(8192, ["right", "left"]);
  const start_s = Math.max(0, 900.4 - length / 2);
  const runs = lostRuns(window, ["right", "left"], { ...FRAME, start_s, stop_s: start_s + length }, 2);
  expect(runs).toHaveLength(1);
  expect((runs[0]?.[1] ?? 0) - (runs[0]?.[0] ?? 0)).toBeGreaterThanOrEqual(2);
  const middle = ((runs[0]?.[0] ?? 0) + (runs[0]?.[1] ?? 0)) / 2;
  expect(Math.abs(middle / 1000 - (900.4 - start_s) / length)).toBeLessThan(0.02 + window.step_s / length);
});

test("an eye alone that is lost is no loss of both", () => {
  const window = halfHour(2000, ["right"]);
  const frame = { ...FRAME, start_s: 0, stop_s: 1800 };
  expect(lostRuns(window, ["right", "left"], frame, 2)).toEqual([]);
  expect(lostRuns(window, ["right"], frame, 2)).toHaveLength(1);
});

test("intervals are joined where they touch and are never too narrow to be seen", () => {
  const frame = { ...FRAME, start_s: 0, stop_s: 100 };
  const runs = spanRuns([{ start_s: 10, stop_s: 10.01 }, { start_s: 20, stop_s: 30 }, { start_s: 30, stop_s: 31 }, { start_s: 200, stop_s: 300 }], frame, 2);
  expect(runs).toHaveLength(2);
  expect((runs[0]?.[1] ?? 0) - (runs[0]?.[0] ?? 0)).toBeCloseTo(2, 6);
  expect(runs[1]).toEqual([200, 310]);
});
