import { useEffect, useRef, useState } from "preact/hooks";
import type { EditEntry } from "../../api/types";
import { editSpan } from "../../format/edit";
import { fixed, typedNumber } from "../../format/number";
import { Field } from "../../parts/Field";
import { usePart } from "../../state/store";
import { t } from "../../text/text";
import { lengthOf, type Span } from "../../traces/span";
import type { CorrectProps } from "./CorrectPanel";

/** The chosen interval, by mouse, by keys or typed, and what can be done with it. */
export function IntervalPart({ trial, model, correction, edits }: CorrectProps & { readonly edits: readonly EditEntry[] }) {
  const chosen = usePart(model.state, (state) => state.chosen);
  const interval = model.interval;
  return (
    <section class="part" aria-labelledby="interval">
      <h2 id="interval">{t("interval.title")}</h2>
      <p class="hint">{t("interval.hint")}</p>
      <div class="pair">
        <Edge label={t("interval.from")} value={chosen.start_s} onSet={(at) => model.setEdge("start", at)} model={model} />
        <Edge label={t("interval.to")} value={chosen.stop_s} onSet={(at) => model.setEdge("stop", at)} model={model} />
      </div>
      <p class="hint" role="status">{interval ? t("interval.length", { seconds: fixed(lengthOf(interval), 3) }) : t("interval.none")}</p>
      <p class="actions">
        <button type="button" disabled={!interval} onClick={() => correction.proposeExclusion()} aria-keyshortcuts="X">{t("interval.exclude")}</button>
        <button type="button" disabled={!interval} onClick={() => correction.proposeBeat()} aria-keyshortcuts="A">{t("interval.beat")}</button>
        {interval && exclusionsIn(edits, trial.id, interval).map(({ id, span }) => (
          <button key={id} type="button" onClick={() => correction.propose({ kind: "take_back", trial: null, values: { of: id } })}>
            {t("interval.restore", { start: fixed(span.start_s, 2), stop: fixed(span.stop_s, 2) })}
          </button>
        ))}
      </p>
    </section>
  );
}

/** Exclusions that hold and touch an interval: each can be taken back. */
function exclusionsIn(edits: readonly EditEntry[], trial: string, interval: Span): { id: number; span: Span }[] {
  return edits.flatMap((edit) => {
    const span = edit.holds && edit.kind === "exclude" && edit.trial === trial ? editSpan(edit) : undefined;
    return span && span.start_s < interval.stop_s && span.stop_s > interval.start_s ? [{ id: edit.id, span }] : [];
  });
}

interface EdgeProps extends Pick<CorrectProps, "model"> {
  readonly label: string;
  readonly value: number | null;
  readonly onSet: (at_s: number | null) => void;
}

/** One edge in seconds: what is typed is taken while it is typed, when it is a time of the recording. */
function Edge({ label, value, onSet, model }: EdgeProps) {
  const written = value === null ? "" : fixed(value, 3);
  const [text, setText] = useState(written);
  const [typing, setTyping] = useState(false);
  const taken = useRef<number | null>(null);
  useEffect(() => {
    if (!typing || value !== taken.current) setText(written);
  }, [written, typing]);
  const typed = typedNumber(text);
  const { start_s, stop_s } = model.whole;
  const isOutside = (at_s: number): boolean => at_s < start_s || at_s > stop_s;
  const outside = typed !== null && isOutside(typed);
  const error = text && typed === null ? t("interval.no_number") : outside ? t("interval.outside", { start: fixed(start_s, 2), stop: fixed(stop_s, 2) }) : undefined;
  const take = (next: string): void => {
    setTyping(true);
    setText(next);
    const at_s = typedNumber(next);
    taken.current = at_s === null || isOutside(at_s) ? null : at_s;
    onSet(taken.current);
  };
  return (
    <Field label={label} error={error}>
      {(ids) => (
        <input {...ids} type="text" inputMode="decimal" autocomplete="off" value={text}
          onInput={(event) => take(event.currentTarget.value)} onBlur={() => error || setTyping(false)} />
      )}
    </Field>
  );
}
