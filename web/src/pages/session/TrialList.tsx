import { trialPath } from "../../app/paths";
import type { Measure, Trial } from "../../api/types";
import { aboutRecording, measureLabel, valueText } from "../../format/measure";
import { fixed } from "../../format/number";
import { stimulusText } from "../../format/stimulus";
import { GradeMark } from "../../parts/GradeMark";
import { Link } from "../../parts/Link";
import { reason, word } from "../../state/about";
import { t } from "../../text/text";
import type { Seen } from "./seen";

const KEY_NUMBERS = 2;

/** Every trial with its quality and its first numbers. */
export function TrialList({ session, document }: Seen) {
  return (
    <section class="sheet" aria-labelledby="trials">
      <h2 id="trials">{t("trials.title", { count: document.trials.length })}</h2>
      <table class="trials">
        <caption class="unseen">{t("trials.caption")}</caption>
        <thead>
          <tr>
            <th scope="col">{t("trials.trial")}</th>
            <th scope="col">{t("trials.quality")}</th>
            <th scope="col">{t("trials.numbers")}</th>
          </tr>
        </thead>
        <tbody>{document.trials.map((trial) => <Row key={trial.id} session={session} trial={trial} />)}</tbody>
      </table>
    </section>
  );
}

function Row({ session, trial }: { readonly session: string; readonly trial: Trial }) {
  const { quality } = trial;
  return (
    <tr>
      <th scope="row">
        <Link href={trialPath(session, trial.id)}>{trial.id}</Link>
        <span class="under">{word("kind", trial.kind)}{" · "}{stimulusText(trial)}</span>
        {trial.outcome !== "done" && <span class="under"><b>{trial.outcome}</b>{trial.reason && `: ${trial.reason}`}</span>}
      </th>
      <td>
        {quality ? (
          <>
            <GradeMark grade={quality.grade} />
            {quality.usable_pct !== null && <span class="under">{t("trials.usable", { share: fixed(quality.usable_pct, 0) })}</span>}
            {quality.why.length > 0 && (
              <details class="under"><summary>{t("trials.why", { count: quality.why.length })}</summary>{quality.why.map((code) => <span key={code} class="why">{reason(code).text}</span>)}</details>
            )}
          </>
        ) : t("trials.typed")}
      </td>
      <td>
        {headline(trial).map((measure) => (
          <span key={measure.id} class="headline">
            <Link href={trialPath(session, trial.id, { measure: measure.id })}>{measureLabel(measure)}</Link>{" "}
            <b class="nowrap">{valueText(measure)}</b>{" "}
            {measure.grade !== "sound" && <GradeMark grade={measure.grade} word={false} />}
          </span>
        ))}
      </td>
    </tr>
  );
}

/** The first numbers that say something of the patient. */
function headline(trial: Trial): Measure[] {
  return trial.measures.filter((measure) => !aboutRecording(measure) && measure.value !== null).slice(0, KEY_NUMBERS);
}
