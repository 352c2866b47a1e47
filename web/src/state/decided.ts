/** What the signer decided on a statement, as the pages that only show it need to know. Pure. */
import type { DraftWish } from "../api/calls";
import type { SessionAnswer } from "../api/types";

export type Decided =
  | { readonly kind: "accepted" }
  | { readonly kind: "reworded"; readonly text: string }
  | { readonly kind: "dropped"; readonly reason: string };

/** What Slowphase wrote, by the key that a decision names. */
export type Written = Readonly<Record<string, string>>;

type Texts = Readonly<Record<string, string>>;

export const SUMMARY = "summary";

export function keyAt({ statement_keys, document }: SessionAnswer, index: number): string {
  return statement_keys[index] ?? document?.statements[index]?.code ?? "";
}

/** Of a session that is not measured nothing is known. */
export function writtenOf(answer: SessionAnswer | null): Written {
  const document = answer?.document;
  if (!answer || !document) return {};
  const statements = document.statements.map(({ text }, index) => [keyAt(answer, index), text] as const);
  return Object.fromEntries([...statements, [SUMMARY, document.summary.referrer]]);
}

/** What counts: a statement left out without a reason yet, or reworded to nothing or to itself, still stands. */
export function settled({ reworded, dropped, remark }: DraftWish, written: Written): DraftWish {
  const other = (key: string, text: string): boolean => text.trim() !== (written[key] ?? "").trim();
  return { reworded: kept(reworded, (key, text) => said(text) && other(key, text)), dropped: kept(dropped, (_, text) => said(text)), remark };
}

export function decidedOn(draft: DraftWish, written: Written, key: string): Decided {
  const { reworded, dropped } = settled(draft, written);
  const [text, reason] = [reworded[key], dropped[key]];
  if (reason !== undefined) return { kind: "dropped", reason };
  return text === undefined ? { kind: "accepted" } : { kind: "reworded", text };
}

/** How many of the statements that there are were reworded or left out; the summary is none. */
export function touchedCount(draft: DraftWish, written: Written): number {
  const { reworded, dropped } = settled(draft, written);
  return Object.keys(written).filter((key) => key !== SUMMARY && (key in reworded || key in dropped)).length;
}

function said(text: string): boolean {
  return text.trim() !== "";
}

function kept(texts: Texts, holds: (key: string, text: string) => boolean): Record<string, string> {
  return Object.fromEntries(Object.entries(texts).filter(([key, text]) => holds(key, text)));
}
