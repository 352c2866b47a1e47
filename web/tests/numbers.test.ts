import { afterEach, describe, expect, test } from "vitest";
import { day } from "../src/format/date";
import { keyValue } from "../src/format/key_value";
import { chooseWriting } from "../src/format/locale";
import { fixed, interval, numberOf, quantity, typedNumber } from "../src/format/number";
import { chance, ordinal } from "../src/format/words";

const ENGLISH = { numbers: "en-GB", dates: "en-GB" };
chooseWriting(ENGLISH);
afterEach(() => chooseWriting(ENGLISH));

test("numbers have the decimals of their unit and a real minus", () => {
  expect(numberOf(0.434, "1")).toBe("0.43");
  expect(quantity(-6.04, "deg/s")).toBe("−6.0 deg/s");
  expect(quantity(93.4, "%")).toBe("93 %");
  expect(fixed(null, 2)).toBe("–");
});

test("nothing is shown as minus nought", () => {
  expect(fixed(-0.004, 2)).toBe("0.00");
  expect(fixed(-0.006, 2)).toBe("−0.01");
});

// The same cases as `interval` of reading/words.py: report and workbench agree.
test.each([
  [0.61, 0.65, "1", "0.61–0.65"],
  [-37.2, -35.2, "%", "−37 to −35"],
  [0.2301, 0.2302, "1", "±<0.01"],
  [100, 100, "%", "at its limit"],
  [4.2, 4.2, "1", ""],
  [null, 1, "1", ""],
] as const)("the interval from %s to %s %s is %s", (low, high, unit, shown) => {
  expect(interval(low, high, unit)).toBe(shown);
});

test("the decimal mark and the order of dates follow the choice", () => {
  chooseWriting({ numbers: "de-DE", dates: "sv-SE" });
  expect(quantity(1234.56, "deg/s")).toBe("1234,6 deg/s");
  expect(day("2026-03-02")).toContain("2026");
  chooseWriting({ numbers: "en-GB", dates: "en-US" });
  expect(day("2026-03-02")).toBe("Mar 2, 2026");
});

test("a day is the same day in every time zone", () => {
  expect(day("2026-03-02")).toBe("2 Mar 2026");
  expect(day(null)).toBe("–");
  expect(day("someday")).toBe("someday");
});

test.each([
  ["31.5", 31.5], ["31,5", 31.5], [" −4 ", -4], [".5", 0.5], ["1e3", 1000], ["", null], ["3 5", null], ["x", null], ["1.2.3", null], ["Infinity", null],
] as const)("typed %j is %s", (text, value) => {
  expect(typedNumber(text)).toBe(value);
});

describe("what was typed for a key of a trial", () => {
  test.each([
    ["number", "0,04", 0.04],
    ["flag", "true", true],
    ["flag", "perhaps", null],
    ["interval", "60; 70", [60, 70]],
    ["interval", "60", null],
    ["targets", "0 -10 10", [0, -10, 10]],
    ["targets", "[[0, 0], [0, 10]]", [[0, 0], [0, 10]]],
    ["targets", "[0, ", null],
    ["levels", "500 = 15; 8000 = no response", { "500": 15, "8000": "no response" }],
    ["levels", "loud", null],
    ["text", " right ", "right"],
    ["text", "  ", null],
  ])("as %s, %j is %j", (type, text, value) => {
    expect(keyValue(type, text)).toEqual(value);
  });
});

test("chances are never nought or certain", () => {
  expect(chance(0.999)).toBe("over 99 %");
  expect(chance(0)).toBe("under 1 %");
  expect(chance(0.423)).toBe("42 %");
});

test("ordinals", () => {
  expect([1, 2, 3, 4, 11, 12, 21, 2.5].map(ordinal)).toEqual(["1st", "2nd", "3rd", "4th", "11th", "12th", "21st", "2.5th"]);
});
