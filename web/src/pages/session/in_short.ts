/** What "In short" says, and what its button copies. Pure. */
import type { SessionAnswer } from "../../api/types";
import { decidedOn, SUMMARY, touchedCount, writtenOf } from "../../state/decided";
import { t } from "../../text/text";

export interface Short {
  readonly text: string;
  /** In the signer's words. */
  readonly own: boolean;
  /** Statements that were reworded or left out without the summary following them. */
  readonly touched: number;
  readonly copied: string;
}

/** The summary for the referrer. */
export function referrerShort(answer: SessionAnswer): Short {
  const written = writtenOf(answer);
  const decided = decidedOn(answer.draft, written, SUMMARY);
  const own = decided.kind === "reworded";
  const text = own ? decided.text : (written[SUMMARY] ?? "");
  const touched = own ? 0 : touchedCount(answer.draft, written);
  const note = touched ? [t("short.as_written", { count: touched })] : [];
  return { text, own, touched, copied: marked(answer, [text, ...note]) };
}

/** Nobody can put the paragraph for the patient into other words: the page says so where a statement was. */
export function patientShort(answer: SessionAnswer): Short {
  const text = answer.document?.summary.patient ?? "";
  return { text, own: false, touched: touchedCount(answer.draft, writtenOf(answer)), copied: marked(answer, [text]) };
}

function marked(answer: SessionAnswer, lines: readonly string[]): string {
  return [...lines, ...(answer.signed_as_shown === null ? [`(${t("state.draft")})`] : [])].join("\n");
}
