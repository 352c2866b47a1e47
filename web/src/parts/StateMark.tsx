import type { SessionAnswer } from "../api/types";
import { moment } from "../format/date";
import { t } from "../text/text";

/** Whether what is shown is signed: never silent about a draft. */
export function StateMark({ answer }: { readonly answer: SessionAnswer }) {
  const last = answer.versions.at(-1);
  if (last && last.number === answer.signed_as_shown) {
    return <p class="state signed">{t("state.signed", { number: last.number, by: last.by, at: moment(last.at) })}</p>;
  }
  return (
    <p class="state draft">
      <strong>{t("state.draft")}</strong>
      {last && <span> {t("state.changed_since", { number: last.number })}</span>}
    </p>
  );
}
