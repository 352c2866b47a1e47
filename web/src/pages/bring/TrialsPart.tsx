import type { ImportAnswer, Told } from "../../api/further_types";
import { fixed } from "../../format/number";
import { Unsure } from "../../parts/Unsure";
import { about, word } from "../../state/about";
import { t } from "../../text/text";
import { isUnsure, withNewTrial } from "./description";
import type { ImportDesk } from "./import_desk";
import { TrialForm } from "./TrialForm";

interface TrialsPartProps {
  readonly desk: ImportDesk;
  readonly told: Told;
  readonly answer: ImportAnswer;
  readonly shown: string;
  readonly onChoose: (trial: string) => void;
}

/** The trials that were recognised; the chosen one is shown beside and corrected below. */
export function TrialsPart({ desk, told, answer, shown, onChoose }: TrialsPartProps) {
  const trials = told.trials ?? [];
  const at = trials.findIndex(({ id }) => id === shown);
  const traces = answer.files.filter(({ kind }) => kind === "trace").map(({ path }) => path);
  const add = (file: string): void => {
    const next = withNewTrial(told, file, Object.keys(about.value?.stimulus_keys ?? { other: 0 }).at(-1) ?? "other");
    desk.change(() => next);
    onChoose(next.trials?.at(-1)?.id ?? "");
  };
  return (
    <section class="sheet" aria-labelledby="recognised">
      <div class="sheet-head">
        <h2 id="recognised">{t("recognised.title", { count: trials.length })}</h2>
        {traces.length > 0 && (
          <select aria-label={t("recognised.add")} value="" onChange={(event) => add(event.currentTarget.value)}>
            <option value="">{t("recognised.add")}</option>
            {traces.map((path) => <option key={path} value={path}>{path}</option>)}
          </select>
        )}
      </div>
      {!trials.length && <p class="nothing">{t("recognised.none")}</p>}
      <ul class="plain recognised">
        {trials.map((trial, index) => (
          <li key={index} class={index === at ? "chosen" : undefined}>
            <button type="button" aria-pressed={index === at} onClick={() => onChoose(trial.id)}>{trial.id}</button>
            <span> {word("kind", trial.kind)}{trial.start_s != null && trial.stop_s != null && `, ${t("recognised.span", { from: fixed(trial.start_s, 1), to: fixed(trial.stop_s, 1) })}`}</span>{" "}
            {isUnsure(trial.confidence) && <Unsure />}
          </li>
        ))}
      </ul>
      {at >= 0 && <TrialForm key={at} desk={desk} told={told} answer={answer} at={at} onChoose={onChoose} />}
    </section>
  );
}
