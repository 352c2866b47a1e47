import { expect, test } from "vitest";
import { BadWindow, decodeWindow, stopOf } from "../src/traces/window_format";
import { encodedWindow } from "./encoded_window";

const CHANNELS = {
  eye: { low: [-1, 0, NaN, 2, 3], high: [1, 0.5, NaN, 2.5, 4], missing: [0, 1, 1, 0, 0] },
  head: { low: [10, 20, 30, 40, 50], high: [10, 20, 30, 40, 50], missing: [0, 0, 0, 0, 1] },
};

test("a window is read with start, step and every channel", () => {
  const window = decodeWindow(encodedWindow({ start_s: 31.5, step_s: 0.25, exact: false }, CHANNELS));
  expect(window.start_s).toBe(31.5);
  expect(stopOf(window)).toBe(31.5 + 5 * 0.25);
  expect([...window.channels.keys()]).toEqual(["eye", "head"]);
  expect([...(window.channels.get("head")?.high ?? [])]).toEqual([10, 20, 30, 40, 50]);
});

test("missing bits and columns without any sample survive", () => {
  const eye = decodeWindow(encodedWindow({ start_s: 0, step_s: 1, exact: false }, CHANNELS)).channels.get("eye");
  expect([...(eye?.missing ?? [])]).toEqual([0, 1, 1, 0, 0]);
  expect(eye?.low[1]).toBe(0); // a lost sample among others: the rest is still shown
  expect(eye?.low[2]).toBeNaN(); // all lost
});

test("times are start and step in double precision, far from zero too", () => {
  const window = decodeWindow(encodedWindow({ start_s: 86_399.998, step_s: 0.001, exact: true }, CHANNELS));
  expect(window.start_s + 2 * window.step_s).toBeCloseTo(86_400, 9);
});

test.each([
  ["nothing", new ArrayBuffer(0)],
  ["a header longer than the rest", new Uint32Array([400, 0]).buffer],
  ["a header of an odd length", new Uint32Array([3, 0]).buffer],
])("%s is refused", (_, buffer) => {
  expect(() => decodeWindow(buffer)).toThrow(BadWindow);
});

test("a window that was cut short is refused, not drawn in part", () => {
  const whole = encodedWindow({ start_s: 0, step_s: 1, exact: true }, CHANNELS);
  expect(() => decodeWindow(whole.slice(0, whole.byteLength - 4))).toThrow(BadWindow);
});

test("a header without a step is refused", () => {
  expect(() => decodeWindow(encodedWindow({ start_s: 0, step_s: 0, exact: true }, CHANNELS))).toThrow(BadWindow);
});
