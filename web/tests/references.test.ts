import { expect, test } from "vitest";
import { fileName, moved, orderText } from "../src/pages/references/order";

test("an order is written as the file has it", () => {
  expect(orderText(["own", 'a"b'])).toBe('prefer = ["own", "a\\"b"]\n');
});

test("a set moves by one place and not beyond the ends", () => {
  expect(moved(["a", "b", "c"], 2, -1)).toEqual(["a", "c", "b"]);
  expect(moved(["a", "b"], 0, -1)).toEqual(["a", "b"]);
});

test("any name becomes one that the store takes", () => {
  expect(fileName("Our clinic 2026.TOML")).toBe("Our-clinic-2026.toml");
  expect(fileName("../../x")).toMatch(/^[A-Za-z0-9][A-Za-z0-9._-]*\.toml$/);
  expect(fileName("  ")).toBe("own.toml");
});
