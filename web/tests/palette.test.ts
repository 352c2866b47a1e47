import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { SRC } from "./sources";

const css = readFileSync(`${SRC}style/base.css`, "utf8");

/** The colours of a block of the style sheet. */
function colours(block: RegExp): Record<string, string> {
  const found = block.exec(css)?.[1] ?? "";
  return Object.fromEntries([...found.matchAll(/--([a-z]+):\s*(#[0-9a-f]{6})/g)].map((one) => [one[1] ?? "", one[2] ?? ""]));
}

const light = colours(/:root, \.scheme-light \{([^}]*)\}/);
const dark = colours(/\.scheme-dark \{([^}]*)\}/);
const darkPreferred = colours(/prefers-color-scheme: dark\) \{\s*:root \{([^}]*)\}/);

function luminance(colour: string): number {
  const [red, green, blue] = [1, 3, 5].map((at) => {
    const share = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * (red ?? 0) + 0.7152 * (green ?? 0) + 0.0722 * (blue ?? 0);
}

function contrast(one = "#ff0000", other = "#ff0000"): number {
  const [high, low] = [luminance(one), luminance(other)].sort((a, b) => b - a);
  return ((high ?? 0) + 0.05) / ((low ?? 0) + 0.05);
}

test("the measure of contrast is that of the guidelines", () => {
  expect(contrast("#000000", "#ffffff")).toBeCloseTo(21, 5);
  expect(contrast("#777777", "#ffffff")).toBeCloseTo(4.48, 2);
});

test("the dark scheme is the same wherever it is written", () => {
  expect(darkPreferred).toEqual(dark);
  expect(Object.keys(dark).sort()).toEqual(Object.keys(light).sort());
});

const TEXT = ["ink", "quiet", "link", "heed"] as const;
const LINES = ["faint", "slow", "fit", "right", "left"] as const;
const UNDER = ["paper", "sheet", "note"] as const;

for (const [scheme, palette] of [["light", light], ["dark", dark]] as const) {
  for (const under of UNDER) {
    test.each(TEXT)(`in the ${scheme} scheme %s can be read on ${under}`, (name) => {
      expect(contrast(palette[name], palette[under])).toBeGreaterThanOrEqual(4.5);
    });
    test.each(LINES)(`in the ${scheme} scheme a line of %s is seen on ${under}`, (name) => {
      expect(contrast(palette[name], palette[under])).toBeGreaterThanOrEqual(3);
    });
  }
  test(`in the ${scheme} scheme words on the marked row can be read`, () => {
    expect(contrast(palette["ink"], palette["shade"])).toBeGreaterThanOrEqual(4.5);
    expect(contrast(palette["quiet"], palette["shade"])).toBeGreaterThanOrEqual(4.5);
  });
}
