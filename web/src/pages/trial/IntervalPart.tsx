import { useEffect, useRef, useState } from "preact/hooks";
import { fixed, typedNumber } from "../../format/number";
import { Field } from "../../parts/Field";
import { usePart } from "../../state/store";
import { t } from "../../text/text";
import { lengthOf } from "../../traces/span";
import type { CorrectProps } from "./CorrectPanel";

/** The chosen interval, by mouse, by keys or typed, and what can be done with it. */
export function IntervalPart({ model, correction }: CorrectProps) {
  const chosen = usePart(model.state, (state) => state.chosen);
  const interval = model.interval;
  return (
    <section class="part" aria-labelledby="interval">
      <h3 id="interval">{t("interval.title")}</h3>
      <p class="hint">{t("interval.hint")}</p>
      <div class="pair">
        <Edge label={t("interval.from")} value={chosen.start_s} onSet={(at) => model.setEdge("start", at)} model={model} />
        <Edge label={t("interval.to")} value={chosen.stop_s} onSet={(at) => model.setEdge("stop", at)} model={model} />
      </div>
      <p class="hint" role="status">{interval ? t("interval.length", { seconds: fixed(lengthOf(interval), 3) }) : t("interval.none")}</p>
      <p class="actions">
        <button type="button" disabled={!interval} onClick={() => correction.proposeExclusion()} aria-keyshortcuts="X">{t("interval.exclude")}</button>
        <button type="button" disabled={!interval} onClick={() => correction.proposeBeat()} aria-keyshortcuts="A">{t("interval.beat")}</button>
      </p>
    </section>
  );
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
