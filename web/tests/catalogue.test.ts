import ts from "typescript";
import { expect, test } from "vitest";
import { en } from "../src/text/en";
import { type Catalogue, type Counted, t } from "../src/text/text";
import { sources } from "./sources";

const catalogue: Catalogue = en;
const code = sources(/\.(ts|tsx)$/).filter(({ name }) => name !== "text/en.ts" && !name.endsWith(".d.ts"));

/** Attributes whose text a person reads or hears. */
const SPOKEN = new Set(["aria-label", "aria-description", "aria-roledescription", "aria-valuetext", "alt", "title", "placeholder", "label"]);
/** Signs that are no words of any language: units of time and space, arrows, punctuation. */
const NO_WORDS = /^(s|Hz|deg|deg\/s|°C|[^\p{L}]*)$/u;

/** Texts that stand in a component itself: between tags, in spoken attributes, as a string in braces. */
function literals(name: string, text: string): string[] {
  const file = ts.createSourceFile(name, text, ts.ScriptTarget.Latest, true, ts.ScriptKind.TSX);
  const found: string[] = [];
  const told = (words: string): void => {
    if (!NO_WORDS.test(words.trim())) found.push(`${name}: ${words.trim()}`);
  };
  const look = (node: ts.Node): void => {
    if (ts.isJsxText(node)) node.text.split(/\s+/).filter(Boolean).forEach(told);
    if (ts.isJsxAttribute(node) && SPOKEN.has(node.name.getText()) && node.initializer) strings(node.initializer, told);
    if (ts.isJsxExpression(node) && node.expression && !ts.isJsxAttribute(node.parent)) direct(node.expression, told);
    ts.forEachChild(node, look);
  };
  look(file);
  return found;
}

function strings(node: ts.Node, told: (words: string) => void): void {
  if (ts.isCallExpression(node)) return;
  if (ts.isStringLiteralLike(node)) told(node.text);
  ts.forEachChild(node, (child) => strings(child, told));
}

/** A string that is itself shown, alone or as a branch of a choice. */
function direct(node: ts.Expression, told: (words: string) => void): void {
  if (ts.isStringLiteralLike(node)) told(node.text);
  else if (ts.isConditionalExpression(node)) [node.whenTrue, node.whenFalse].forEach((branch) => direct(branch, told));
  else if (ts.isBinaryExpression(node)) direct(node.right, told);
  else if (ts.isTemplateExpression(node)) [node.head, ...node.templateSpans.map((span) => span.literal)].forEach((part) => part.text.split(/\s+/).filter(Boolean).forEach(told));
}

test("no component holds a text of its own", () => {
  expect(code.flatMap(({ name, text }) => (name.endsWith(".tsx") ? literals(name, text) : []))).toEqual([]);
});

test("the search for texts finds them where they hide", () => {
  const hidden = `export const A = () => <p title="Tip">Plain {open ? "Open" : t("x")} {a && "And"} {\`in \${x} words\`}<img alt={"Pic"} /></p>;`;
  expect(literals("a.tsx", hidden)).toEqual(["a.tsx: Tip", "a.tsx: Plain", "a.tsx: Open", "a.tsx: And", "a.tsx: in", "a.tsx: words", "a.tsx: Pic"]);
});

test("every text of the catalogue is used, or belongs to a family that is put together", () => {
  const all = code.map(({ text }) => text).join("\n");
  const families = [...all.matchAll(/t\(`([a-z_]+\.)\$\{/g)].map((found) => found[1] ?? "");
  const unused = Object.keys(catalogue).filter((key) => !all.includes(`"${key}"`) && !families.some((family) => key.startsWith(family)));
  expect(unused).toEqual([]);
});

test("both forms of a counted text fill the same holes; the number itself may go without saying", () => {
  const names = (text: string): string[] => [...text.matchAll(/\{(\w+)\}/g)].map((found) => found[1] ?? "");
  const holes = (text: string): string[] => [...new Set(names(text))].filter((name) => name !== "count").sort();
  const counted = Object.entries(catalogue).filter((entry): entry is [string, Counted] => typeof entry[1] !== "string");
  expect(counted.length).toBeGreaterThan(10);
  for (const [key, { one, other }] of counted) expect(holes(one), key).toEqual(holes(other));
});

test("no text asserts a diagnosis or promises", () => {
  const words = Object.values(catalogue).flatMap((entry) => (typeof entry === "string" ? [entry] : [entry.one, entry.other])).join("\n");
  expect(words).not.toMatch(/\bdiagnos(is|ed) (of|with)\b|\bcures?\b|\bguarantee/i);
});

test("holes are filled and counts choose their form", () => {
  expect(t("sessions.edit_count", { count: 1 })).toBe("1 edit");
  expect(t("sessions.edit_count", { count: 12 })).toBe("12 edits");
  expect(t("merge.title", { code: "K-{count}" })).toBe("Merge K-{count} into another patient");
});
