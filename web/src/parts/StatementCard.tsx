import type { ComponentChildren } from "preact";
import type { Document, Statement } from "../api/types";
import type { Decided } from "../state/decided";
import { t } from "../text/text";
import { DecidedText } from "./DecidedText";
import { EvidenceTable } from "./EvidenceTable";

interface StatementProps {
  readonly session: string;
  readonly document: Document;
  readonly statement: Statement;
  /** The signer's decision, where the page shows it and does not ask for it. */
  readonly decided?: Decided;
  readonly children?: ComponentChildren;
}

const STRENGTHS = { firm: "strength.firm", moderate: "strength.moderate", weak: "strength.weak" } as const;

/** One statement of the reading; unfolded it shows what it rests on and what it does not show. */
export function StatementCard({ session, document, statement, decided = { kind: "accepted" }, children }: StatementProps) {
  return (
    <article class={`statement ${statement.verdict}${statement.urgent ? " urgent" : ""}`}>
      <h3>
        <span class="verdict">{statement.shown}</span> {statement.title}{" "}
        <span class="strength">{t(STRENGTHS[statement.strength])}</span>
      </h3>
      {statement.urgent && <p class="urgent-word">{t("statement.urgent")}</p>}
      <DecidedText statement={statement} decided={decided} />
      {statement.cautions.map((caution) => (
        <p key={caution} class="caution-line"><b>{t("statement.caution")}</b> {caution}</p>
      ))}
      <details>
        <summary>{t("statement.rests_on", { count: statement.evidence.length })}</summary>
        <EvidenceTable session={session} document={document} evidence={statement.evidence} />
        <NotShown lines={statement.does_not_show} />
        <p class="source">{t("statement.sources", { sources: statement.sources.join("; ") })}</p>
        <p class="code">{t("statement.code", { code: statement.code, version: statement.version })}</p>
      </details>
      {children}
    </article>
  );
}

export function NotShown({ lines }: { readonly lines: readonly string[] }) {
  if (!lines.length) return null;
  return (
    <>
      <p class="minor">{t("statement.not_shown")}</p>
      <ul class="small">{lines.map((line) => <li key={line}>{line}</li>)}</ul>
    </>
  );
}
