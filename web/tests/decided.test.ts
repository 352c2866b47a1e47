import { expect, test } from "vitest";
import type { Draft, SessionAnswer } from "../src/api/types";
import { patientShort, referrerShort } from "../src/pages/session/in_short";
import { decidedOn, touchedCount, writtenOf } from "../src/state/decided";

const answer = (draft: Partial<Draft>, signed_as_shown: number | null = null): SessionAnswer =>
  ({
    document: {
      statements: [{ code: "gain", text: "The gain is low." }, { code: "tilt", text: "The eyes tilt." }],
      summary: { referrer: "All in short.", patient: "For you." },
    },
    statement_keys: ["gain", "tilt 2"],
    draft: { reworded: {}, dropped: {}, remark: "", ...draft },
    signed_as_shown,
  }) as unknown as SessionAnswer;

test("each statement carries the decision on it, found by its key", () => {
  const { draft, ...rest } = answer({ reworded: { gain: "Low on the right." }, dropped: { "tilt 2": "artefact" } });
  const written = writtenOf({ draft, ...rest });
  expect(decidedOn(draft, written, "gain")).toEqual({ kind: "reworded", text: "Low on the right." });
  expect(decidedOn(draft, written, "tilt 2")).toEqual({ kind: "dropped", reason: "artefact" });
  expect(decidedOn(draft, written, "summary")).toEqual({ kind: "accepted" });
});

test("a wording that is empty or unchanged is no rewording, nor is a missing reason a leaving out", () => {
  const one = answer({ reworded: { gain: " The gain is low. " }, dropped: { "tilt 2": " " } });
  expect(touchedCount(one.draft, writtenOf(one))).toBe(0);
  expect(decidedOn(one.draft, writtenOf(one), "gain")).toEqual({ kind: "accepted" });
});

test("a summary that no longer follows the statements says so, also where it is copied", () => {
  const short = referrerShort(answer({ reworded: { gain: "Low." }, dropped: { "tilt 2": "artefact" } }));
  const note = "2 statements were reworded or left out; this summary is as Slowphase wrote it.";
  expect(short).toMatchObject({ text: "All in short.", touched: 2, own: false });
  expect(short.copied.split("\n").slice(0, 2)).toEqual(["All in short.", note]);
  expect(referrerShort(answer({ dropped: { gain: "no" } }, 1)).copied).toBe("All in short.\n1 statement was reworded or left out; this summary is as Slowphase wrote it.");
});

test("a summary in the signer's words needs no such note; the patient's paragraph still does", () => {
  const one = answer({ reworded: { gain: "Low.", summary: "Mine." } }, 1);
  expect(referrerShort(one)).toEqual({ text: "Mine.", own: true, touched: 0, copied: "Mine." });
  expect(patientShort(one)).toMatchObject({ text: "For you.", touched: 1 });
});
