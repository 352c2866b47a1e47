import { useLayoutEffect, useRef } from "preact/hooks";
import type { TrialAnswer } from "../../api/types";
import { editText } from "../../format/edit";
import { ReasonField } from "../../parts/ReasonField";
import { Trouble } from "../../parts/Trouble";
import { about } from "../../state/about";
import { useStore } from "../../state/store";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { BeatPart } from "./BeatPart";
import { CalibrationForm } from "./CalibrationForm";
import type { Correction } from "./correction";
import { EyeForm } from "./EyeForm";
import { IntervalPart } from "./IntervalPart";
import { StimulusForm } from "./StimulusForm";

export interface CorrectProps {
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
  readonly correction: Correction;
}

/** Every correction that a person can make on a trial: choose it, say why, make it. */
export function CorrectPanel({ ready, ...props }: CorrectProps & { readonly ready: Ready }) {
  const { trial, correction } = props;
  const aside = ready.answer.edits.log.some((edit) => edit.holds && edit.kind === "set_aside" && edit.trial === trial.id);
  return (
    <div class="correct">
      <WishForm ready={ready} correction={correction} />
      {trial.samples > 0 && (
        <>
          <IntervalPart {...props} edits={ready.answer.edits.log} />
          <BeatPart {...props} />
        </>
      )}
      <EyeForm {...props} />
      {trial.samples > 0 && <CalibrationForm {...props} />}
      <StimulusForm {...props} />
      <section class="part" aria-labelledby="aside">
        <h2 id="aside">{t("aside.title")}</h2>
        <p class="hint">{aside ? t("aside.already") : t("aside.hint")}</p>
        <button type="button" disabled={aside} onClick={() => correction.propose({ kind: "set_aside", trial: trial.id, values: {} })}>{t("aside.button")}</button>
      </section>
    </div>
  );
}

/** The change that is proposed, and the reason without which it is not made. */
function WishForm({ ready, correction }: { readonly ready: Ready; readonly correction: Correction }) {
  const wish = useStore(correction.wish);
  const reason = useStore(correction.reason);
  const conflict = useStore(correction.conflict);
  const trouble = useStore(correction.trouble);
  const field = useRef<HTMLInputElement | null>(null);
  const asked = useStore(correction.asked);
  useLayoutEffect(() => {
    if (asked) field.current?.focus();
  }, [asked]);
  const recent = ready.answer.edits.log.map((edit) => edit.reason).filter(Boolean).reverse();
  const submit = (event: Event): void => {
    event.preventDefault();
    void correction.make(ready.desk);
  };
  return (
    <form class={wish ? "wish ready" : "wish"} aria-label={t("correct.form")} onSubmit={submit}>
      <p class="wish-text">{wish ? <><b>{editText(wish)}</b>{wish.trial === null && wish.kind !== "take_back" && ` (${t("edits.all_trials")})`}</> : t("correct.start")}</p>
      {conflict && <p class="trouble" role="alert">{t("correct.conflict")}</p>}
      <Trouble error={trouble} />
      {wish && (
        <>
          <p class="hint">{about.value?.edit_kinds[wish.kind]?.text}</p>
          <ReasonField value={reason} onInput={(text) => correction.reason.set(text)} recent={recent} inputRef={(element) => (field.current = element)} />
          <p class="actions">
            <button type="submit" class="main" disabled={!reason.trim() || ready.view.busy}>{t("correct.make")}</button>
            <button type="button" onClick={() => correction.giveUp()}>{t("dialog.cancel")}</button>
          </p>
        </>
      )}
    </form>
  );
}
