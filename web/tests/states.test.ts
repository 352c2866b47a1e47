import { expect, test } from "vitest";
import type { ChangedMeasure, EditEntry, Measure, Statement } from "../src/api/types";
import { match } from "../src/app/match";
import { trialPath } from "../src/app/paths";
import { bySize, changeSentence } from "../src/pages/trial/change_words";
import { historyOf } from "../src/pages/trial/edit_history";
import { accept, drop, reword } from "../src/state/draft";
import { inOrder } from "../src/state/statement_order";

function edit(id: number, kind: string, of?: number): EditEntry {
  return { id, kind, trial: kind === "take_back" ? null : "a", values: of === undefined ? {} : { of }, by: "R. Doe", at: "2026-03-02T14:05:00+01:00", reason: "", holds: true };
}

test("a taking back of a taking back brings an edit back", () => {
  const log = [edit(1, "exclude"), edit(2, "take_back", 1), edit(3, "exclude"), edit(4, "take_back", 2), edit(5, "take_back", 4)];
  expect(historyOf(log[0] as EditEntry, log).map(({ entry, undoes }) => [entry.id, undoes])).toEqual([[2, true], [4, false], [5, true]]);
  expect(historyOf(log[2] as EditEntry, log)).toEqual([]);
});

function measure(value: number | null, part: Partial<Measure> = {}): Measure {
  return { id: "a/gain", name: "gain", of: null, exciting: null, value, low: null, high: null, unit: "1", definition: null, grade: "sound", why: [], placement: null, ...part };
}

const changed = (before: Measure | null, after: Measure | null): ChangedMeasure => ({ id: "a/gain", before, after });

test("what changes less than its last digit is told apart from what is seen to change", () => {
  const seen = changed(measure(0.63), measure(0.61));
  const graded = changed(measure(0.5), measure(0.5, { grade: "caution" }));
  const gone = changed(measure(0.5), null);
  const unseen = changed(measure(0.4301), measure(0.4302, { why: ["edited_by_hand"] }));
  const parts = bySize([unseen, graded, seen, gone]);
  expect(parts.unseen).toEqual([unseen]);
  expect(parts.seen[0]).toBe(seen);
  expect(new Set(parts.seen)).toEqual(new Set([seen, graded, gone]));
});

test("the change is spoken with the number before and after", () => {
  const answer = { changed: [changed(measure(0.63), measure(0.61))] };
  const sentence = changeSentence({ number: 1, what: "edit", kind: "exclude", trial: "a", answer: answer as never });
  expect(sentence).toBe("Done. gain 0.63 → 0.61.");
});

test("a statement is either reworded or left out, never both", () => {
  const start = { reworded: {}, dropped: {}, remark: "mine" };
  const dropped = drop(reword(start, "gain", "My words"), "gain", "not asked for");
  expect(dropped).toEqual({ reworded: {}, dropped: { gain: "not asked for" }, remark: "mine" });
  expect(reword(dropped, "gain", "My words").dropped).toEqual({});
  expect(accept(dropped, "gain")).toEqual(start);
});

test("urgent statements come first, then what holds; the order of reading is kept otherwise", () => {
  const one = (code: string, verdict: string, urgent = false) => ({ statement: { code, verdict, urgent } as Statement });
  const all = [one("a", "does_not_hold"), one("b", "holds"), one("c", "cannot_tell"), one("d", "holds"), one("e", "cannot_tell", true)];
  expect(inOrder(all).map(({ statement }) => statement.code)).toEqual(["e", "b", "d", "c", "a"]);
});

test("a trial's id may hold any sign and comes back whole from its address", () => {
  for (const id of ["sin-0.04", "a/b c", "100%", "ä?#"]) {
    const path = new URL(trialPath("s1", id, { measure: "x/y" }), "http://127.0.0.1").pathname;
    expect(match("/sessions/:session/trials/:trial", path)).toEqual({ session: "s1", trial: id });
  }
  expect(match("/sessions/:session", "/sessions/a/b")).toBeNull();
  expect(match("/log", "/log/")).toEqual({});
});
