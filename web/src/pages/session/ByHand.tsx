import type { EditEntry } from "../../api/types";
import { trialPath } from "../../app/paths";
import { moment } from "../../format/date";
import { editSpan, editText } from "../../format/edit";
import { Link } from "../../parts/Link";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** What a person changed and what still holds, with who, when and why. */
export function ByHand({ session, edits }: Pick<Seen, "session"> & { readonly edits: readonly EditEntry[] }) {
  const holding = edits.filter((edit) => edit.holds && edit.kind !== "take_back");
  if (!holding.length) return null;
  return (
    <section class="sheet" aria-labelledby="by-hand">
      <h2 id="by-hand">{t("by_hand.title", { count: holding.length })}</h2>
      <ul>
        {holding.map((edit) => (
          <li key={edit.id}>
            {edit.trial === null ? t("edits.all_trials") : <Link href={trialPath(session, edit.trial, editSpan(edit))}>{edit.trial}</Link>}: {editText(edit)}
            <span class="under">{edit.reason}{" · "}{t("edits.by", { by: edit.by, at: moment(edit.at) })}</span>
          </li>
        ))}
      </ul>
    </section>
  );
}
