import { trialPath } from "../../app/paths";
import type { ChangedMeasure } from "../../api/types";
import { intervalText, measureLabel, valueText } from "../../format/measure";
import { NONE } from "../../format/number";
import { GradeMark } from "../../parts/GradeMark";
import { Link } from "../../parts/Link";
import { measuresOf } from "../../state/measures";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import { bySize } from "./change_words";

/** What the last change did: each number before and after, statements that came or went. */
export function ChangeNote({ ready }: { readonly ready: Ready }) {
  const { change } = ready.view;
  if (!change) return null;
  const { seen, unseen } = bySize(change.answer.changed);
  return (
    <section class="change-note" aria-labelledby="what-changed">
      <div class="sheet-head">
        <h2 id="what-changed">{t("change.title")}</h2>
        <button type="button" class="quiet" onClick={() => ready.desk.forgetChange()}>{t("change.close")}</button>
      </div>
      {!seen.length && <p class="small">{t(unseen.length ? "change.nothing_seen" : "change.nothing")}</p>}
      <Numbers ready={ready} changed={seen} />
      <Statements ready={ready} />
      {unseen.length > 0 && (
        <details>
          <summary class="small">{t("change.unseen", { count: unseen.length })}</summary>
          <Numbers ready={ready} changed={unseen} />
        </details>
      )}
    </section>
  );
}

function Statements({ ready }: { readonly ready: Ready }) {
  const statements = ready.view.change?.answer.statements;
  if (!statements) return null;
  const { added, gone, changed } = statements;
  if (!added.length && !gone.length && !changed.length) return null;
  return (
    <ul class="small">
      {added.map((one) => <li key={`+${one.code}${one.text}`}><b>{t("change.added")}</b> {one.title}: {one.shown}</li>)}
      {gone.map((one) => <li key={`-${one.code}${one.text}`}><b>{t("change.gone")}</b> {one.title}: {one.shown}</li>)}
      {changed.map((one) => <li key={`~${one.key}`}><b>{t("change.reworded")}</b> {one.after.title}: {verdicts(one.before.shown, one.after.shown)}</li>)}
    </ul>
  );
}

function verdicts(before: string, after: string): string {
  return before === after ? after : t("change.line_short", { before, after });
}

function Numbers({ ready, changed }: { readonly ready: Ready; readonly changed: readonly ChangedMeasure[] }) {
  if (!changed.length) return null;
  return (
    <table class="changed">
      <caption class="unseen">{t("change.title")}</caption>
      <thead>
        <tr>
          <th scope="col">{t("measure.name")}</th>
          <th scope="col" class="n">{t("change.before")}</th>
          <th scope="col" class="n">{t("change.after")}</th>
        </tr>
      </thead>
      <tbody>{changed.map((one) => <Row key={one.id} ready={ready} changed={one} />)}</tbody>
    </table>
  );
}

function Row({ ready, changed: { id, before, after } }: { readonly ready: Ready; readonly changed: ChangedMeasure }) {
  const known = after ?? before;
  const trials = measuresOf(ready.document).get(id)?.trials ?? [];
  const name = [trials.join(" ~ "), known ? measureLabel(known) : id].filter(Boolean).join(": ");
  return (
    <tr>
      <th scope="row">{trials[0] === undefined ? name : <Link href={trialPath(ready.answer.session.id, trials[0], { measure: id })}>{name}</Link>}</th>
      <td class="n"><Number measure={before} /></td>
      <td class="n"><b><Number measure={after} /></b></td>
    </tr>
  );
}

function Number({ measure }: { readonly measure: ChangedMeasure["before"] }) {
  if (!measure || measure.value === null) return <>{NONE}</>;
  const spread = intervalText(measure);
  return (
    <>
      {valueText(measure)}{" "}
      {measure.grade !== "sound" && <GradeMark grade={measure.grade} word={false} />}
      {spread !== NONE && <span class="spread">{spread}</span>}
    </>
  );
}
