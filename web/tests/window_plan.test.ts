import { expect, test } from "vitest";
import { COLUMNS_MOST, bestOf, serves, wishFor } from "../src/traces/window_plan";
import type { TraceWindow } from "../src/traces/window_format";

const WHOLE = { start_s: 0, stop_s: 1800 };

function window(start_s: number, stop_s: number, columns: number, exact = false): TraceWindow {
  return { start_s, step_s: (stop_s - start_s) / columns, columns, exact, channels: new Map() };
}

test("a view is asked for with as much again on each side, within the recording", () => {
  const wish = wishFor({ start_s: 100, stop_s: 110 }, WHOLE, 1000);
  expect([wish.start_s, wish.stop_s]).toEqual([90, 120]);
  expect(wish.columns).toBe(6000);
  expect(wishFor({ start_s: 0, stop_s: 10 }, WHOLE, 1000).start_s).toBe(0);
});

test.each([800, 2600, 3800, 9000])("never more columns are asked for than the server gives, at %d pixels", (width) => {
  const wish = wishFor({ start_s: 500, stop_s: 900 }, WHOLE, width);
  expect(wish.columns).toBeLessThanOrEqual(COLUMNS_MOST);
  expect(wish.start_s).toBeLessThanOrEqual(500);
  expect(wish.stop_s).toBeGreaterThanOrEqual(900);
});

test("the finest window that covers the view is drawn, but not one that is far too dense", () => {
  const [coarse, fine, elsewhere] = [window(0, 1800, 1800), window(90, 120, 6000), window(300, 330, 60_000)];
  expect(bestOf([coarse, fine, elsewhere], { start_s: 100, stop_s: 110 }, 1000)).toBe(fine);
  expect(bestOf([coarse, fine, elsewhere], { start_s: 0, stop_s: 1800 }, 1000)).toBe(coarse);
  expect(bestOf([window(0, 1800, 1_800_000), coarse], { start_s: 0, stop_s: 1800 }, 1000)).toBe(coarse);
});

test("where nothing covers the view the widest is drawn until something does", () => {
  const coarse = window(0, 900, 900);
  expect(bestOf([window(10, 20, 100), coarse], { start_s: 800, stop_s: 1000 }, 1000)).toBe(coarse);
  expect(bestOf([], WHOLE, 1000)).toBeNull();
});

test("a window serves while it is fine enough and reaches beyond the view", () => {
  const view = { start_s: 100, stop_s: 110 };
  expect(serves(window(90, 120, 6000), view, WHOLE, 1000)).toBe(true);
  expect(serves(window(90, 120, 600), view, WHOLE, 1000)).toBe(false); // too coarse
  expect(serves(window(99, 111, 2400), view, WHOLE, 1000)).toBe(false); // too near its ends
  expect(serves(window(90, 120, 600, true), view, WHOLE, 1000)).toBe(true); // every sample: nothing finer exists
  expect(serves(window(0, 1800, 2000), WHOLE, WHOLE, 1000)).toBe(true); // nothing lies beyond the recording
});
