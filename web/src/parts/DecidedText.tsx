import type { Statement } from "../api/types";
import type { Decided } from "../state/decided";
import { t } from "../text/text";

/** A statement as it goes into the report: in the signer's words, left out, or as Slowphase wrote it. */
export function DecidedText({ statement, decided }: { readonly statement: Statement; readonly decided: Decided }) {
  if (decided.kind === "accepted") return <p class="prose">{statement.text}</p>;
  return (
    <>
      {decided.kind === "reworded" ? (
        <>
          <p class="prose">{decided.text}</p>
          <p class="hint">{t("short.own")}</p>
        </>
      ) : (
        <p class="prose"><b>{t("decided.left_out", { reason: decided.reason })}</b></p>
      )}
      <details class="as-written">
        <summary>{t("decision.original")}</summary>
        <p class="prose">{statement.text}</p>
      </details>
    </>
  );
}
