import { expect, test } from "vitest";
import { sources } from "./sources";

const all = sources(/\.(ts|tsx)$/);
const imports = (text: string): string[] => [...text.matchAll(/(?:from|import)\s+"([^"]+)"/g)].map((found) => found[1] ?? "");

test("the plotting library is imported in one folder only", () => {
  const users = all.filter(({ text }) => imports(text).some((from) => from.startsWith("uplot"))).map(({ name }) => name);
  expect(users.length).toBeGreaterThan(0);
  expect(users.filter((name) => !name.startsWith("traces/"))).toEqual([]);
});

test("no source file is longer than four hundred lines, tables apart", () => {
  const tables = new Set(["text/en.ts", "api/schema.d.ts"]);
  const long = all.filter(({ name, text }) => !tables.has(name) && text.split("\n").length > 400);
  expect(long.map(({ name }) => name)).toEqual([]);
});

test("state and formats know no page, traces know no page", () => {
  const below = all.filter(({ name }) => /^(state|format|api|traces|text)\//.test(name));
  const wrong = below.filter(({ text }) => imports(text).some((from) => /\/(pages|parts)\//.test(from)));
  expect(wrong.map(({ name }) => name)).toEqual([]);
});

test("nothing is fetched from anywhere but this server", () => {
  const addresses = all.filter(({ name, text }) => name !== "api/schema.d.ts" && /https?:\/\/(?!www\.w3\.org)/.test(text));
  expect(addresses.map(({ name }) => name)).toEqual([]);
});

test("no markup is put into the page as text", () => {
  const wrong = all.filter(({ text }) => /innerHTML|outerHTML|insertAdjacentHTML|dangerouslySetInnerHTML|\beval\(|new Function/.test(text));
  expect(wrong.map(({ name }) => name)).toEqual([]);
});
