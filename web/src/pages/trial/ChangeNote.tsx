import { useState } from "preact/hooks";
import { trialPath } from "../../app/paths";
import type { ChangedMeasure } from "../../api/types";
import { measureLabel, withInterval } from "../../format/measure";
import { Link } from "../../parts/Link";
import { measuresOf } from "../../state/measures";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";

const FIRST = 6;

/** What the last change did: each number before and after, statements that came or went. */
export function ChangeNote({ ready }: { readonly ready: Ready }) {
  const { change } = ready.view;
  const [all, showAll] = useState(false);
  if (!change) return null;
  const { changed, statements } = change.answer;
  const shown = all ? changed : changed.slice(0, FIRST);
  return (
    <section class="change-note" aria-labelledby="what-changed">
      <div class="sheet-head">
        <h3 id="what-changed">{t("change.title")}</h3>
        <button type="button" class="quiet" onClick={() => ready.desk.forgetChange()}>{t("change.close")}</button>
      </div>
      {!changed.length && <p>{t("change.nothing")}</p>}
      {changed.length > 0 && (
        <table class="changed">
          <caption class="unseen">{t("change.title")}</caption>
          <thead><tr><th scope="col">{t("measure.name")}</th><th scope="col" class="n">{t("change.before")}</th><th scope="col" class="n">{t("change.after")}</th></tr></thead>
          <tbody>{shown.map((one) => <Row key={one.id} ready={ready} changed={one} />)}</tbody>
        </table>
      )}
      {changed.length > shown.length && <button type="button" class="quiet" onClick={() => showAll(true)}>{t("change.show_all", { count: changed.length })}</button>}
      <ul class="small">
        {statements.added.map((one) => <li key={`+${one.code}`}><b>{t("change.added")}</b> {one.title}: {one.shown}</li>)}
        {statements.gone.map((one) => <li key={`-${one.code}`}><b>{t("change.gone")}</b> {one.title}: {one.shown}</li>)}
        {statements.changed.map((one) => <li key={`~${one.key}`}><b>{t("change.reworded")}</b> {one.after.title}: {verdicts(one.before.shown, one.after.shown)}</li>)}
      </ul>
    </section>
  );
}

function verdicts(before: string, after: string): string {
  return before === after ? after : t("change.line_short", { before, after });
}

function Row({ ready, changed: { id, before, after } }: { readonly ready: Ready; readonly changed: ChangedMeasure }) {
  const known = after ?? before;
  const trials = measuresOf(ready.document).get(id)?.trials ?? [];
  const name = [trials.join(" ~ "), known ? measureLabel(known) : id].filter(Boolean).join(": ");
  return (
    <tr>
      <th scope="row">{trials[0] === undefined ? name : <Link href={trialPath(ready.answer.session.id, trials[0], { measure: id })}>{name}</Link>}</th>
      <td class="n">{withInterval(before)}</td>
      <td class="n"><b>{withInterval(after)}</b></td>
    </tr>
  );
}
