import { expect, test } from "vitest";
import { importName } from "../src/pages/bring/naming";

const files = ["a.csv", "b.csv", "c.csv", "d.csv", "e.csv"].map((path) => ({ path, bytes: 1, kind: "trace" as const }));
const known = (part: object) => ({ description: null, text: "", files, ...part });

test("an import that waits is called by the code and date that were typed for it", () => {
  const name = importName(known({ description: { code: " VN-7 ", date: "2031-05-02" } }));
  expect(name).toMatch(/^VN-7, .*2031/);
  expect(importName(known({ description: { code: "VN-7", date: "" } }))).toBe("VN-7");
});

test("one that came with its session.toml is called by what that says", () => {
  const text = 'schema = 1\n\n[patient]\ncode = "QR-3"\nage_years = 40\n\n[session]\ndate = 2031-05-02\n';
  expect(importName(known({ text }))).toMatch(/^QR-3, .*2031/);
});

test("one of which neither is known is called by its files, and says how many more", () => {
  expect(importName(known({ description: { code: "", date: "" } }))).toBe("a.csv, b.csv, c.csv, and 2 more");
  expect(importName(known({ files: files.slice(0, 1) }))).toBe("a.csv");
  expect(importName(known({ files: [] }))).toBe("");
});
