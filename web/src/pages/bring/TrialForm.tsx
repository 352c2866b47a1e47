import { useState } from "preact/hooks";
import type { ImportAnswer, Told } from "../../api/further_types";
import type { KeyEntry } from "../../api/types";
import { keyValue } from "../../format/key_value";
import { Field } from "../../parts/Field";
import { NumberInput } from "../../parts/NumberInput";
import { about, word } from "../../state/about";
import { t } from "../../text/text";
import { withKey, withoutTrial, withTrial } from "./description";
import type { ImportDesk } from "./import_desk";

interface TrialFormProps {
  readonly desk: ImportDesk;
  readonly told: Told;
  readonly answer: ImportAnswer;
  readonly at: number;
  readonly onChoose: (trial: string) => void;
}

/** One trial: its name, kind, vision, part of the file, and the keys of its kind. */
export function TrialForm({ desk, told, answer, at, onChoose }: TrialFormProps) {
  const trial = told.trials?.[at];
  const [more, setMore] = useState(false);
  if (!trial) return null;
  const set = (part: Parameters<typeof withTrial>[2]): void => desk.change((now) => withTrial(now, at, part));
  const keys = about.value?.stimulus_keys ?? {};
  const own = Object.entries(keys[trial.kind] ?? {});
  const first = own.filter(([name, entry]) => entry.required || trial.stimulus?.[name] !== undefined);
  const rest = own.filter(([name]) => !first.some(([other]) => other === name));
  const key = ([name, entry]: [string, KeyEntry]) => (
    <StimulusKey key={`${trial.kind} ${name}`} name={name} entry={entry} value={trial.stimulus?.[name]} onValue={(value) => desk.change((now) => withKey(now, at, name, value))} />
  );
  const rename = (id: string): void => {
    const free = id.trim() && !told.trials?.some((other, index) => index !== at && other.id === id.trim());
    if (!free) return;
    set({ id: id.trim() });
    onChoose(id.trim());
  };
  return (
    <div class="trial-form" role="group" aria-label={t("recognised.form", { trial: trial.id })}>
      {trial.reason && <p class="hint">{t("recognised.why", { reason: trial.reason })}</p>}
      <div class="fields">
        <Field label={t("recognised.id")}>{(ids) => <input {...ids} type="text" value={trial.id} onChange={(event) => rename(event.currentTarget.value)} />}</Field>
        <Field label={t("recognised.kind")}>
          {(ids) => (
            <select {...ids} value={trial.kind} onChange={(event) => set({ kind: event.currentTarget.value, stimulus: {} })}>
              {Object.keys(keys).map((kind) => <option key={kind} value={kind}>{word("kind", kind)}</option>)}
            </select>
          )}
        </Field>
        <Field label={t("recognised.vision")}>
          {(ids) => (
            <select {...ids} value={trial.vision ?? ""} onChange={(event) => set({ vision: event.currentTarget.value || null })}>
              <option value="">{t("recognised.not_told")}</option>
              {answer.visions.map((vision) => <option key={vision} value={vision}>{vision}</option>)}
            </select>
          )}
        </Field>
        {first.map(key)}
        <Field label={t("recognised.from")}>{(ids) => <NumberInput {...ids} value={trial.start_s} onNumber={(start_s) => set({ start_s })} />}</Field>
        <Field label={t("recognised.to")}>{(ids) => <NumberInput {...ids} value={trial.stop_s} onNumber={(stop_s) => set({ stop_s })} />}</Field>
        {more && rest.map(key)}
      </div>
      <p class="actions">
        {rest.length > 0 && <button type="button" class="quiet" aria-expanded={more} onClick={() => setMore(!more)}>{t("recognised.more", { count: rest.length })}</button>}
        <button type="button" class="quiet" onClick={() => desk.change((now) => withoutTrial(now, at))}>{t("recognised.drop")}</button>
      </p>
    </div>
  );
}

interface StimulusKeyProps {
  readonly name: string;
  readonly entry: KeyEntry;
  readonly value: unknown;
  readonly onValue: (value: unknown) => void;
}

/** One key of the stimulus, by its type: a number, a word of a list, or a text that is read. */
function StimulusKey({ name, entry, value, onValue }: StimulusKeyProps) {
  const [text, setText] = useState(value === undefined ? "" : typeof value === "object" ? JSON.stringify(value) : String(value));
  const words = entry.type === "flag" ? ["true", "false"] : entry.words;
  const wrong = text !== "" && keyValue(entry.type, text) === null;
  const lacking = entry.required && (value === undefined || value === "");
  const take = (next: string): void => {
    setText(next);
    const read = keyValue(entry.type, next);
    if (read !== null || next === "") onValue(read);
  };
  return (
    <Field label={keyWords(name)} hint={entry.type === "number" || words.length ? undefined : entry.expected} error={wrong ? entry.expected : lacking ? t("whose.needed") : undefined}>
      {(ids) => {
        if (words.length) {
          return (
            <select {...ids} value={text} onChange={(event) => take(event.currentTarget.value)}>
              <option value="">{t("stimulus.choose")}</option>
              {words.map((one) => <option key={one} value={one}>{one}</option>)}
            </select>
          );
        }
        if (entry.type === "number") return <NumberInput {...ids} value={typeof value === "number" ? value : null} onNumber={onValue} />;
        return <input {...ids} type="text" value={text} onInput={(event) => take(event.currentTarget.value)} />;
      }}
    </Field>
  );
}

const UNITS: readonly (readonly [RegExp, string])[] = [
  [/_deg_s2$/, "deg/s²"], [/_deg_s$/, "deg/s"], [/_hz$/, "Hz"], [/_deg$/, "deg"], [/_c$/, "°C"], [/_m$/, "m"], [/_s$/, "s"],
];

/** ``peak_velocity_deg_s`` as people write it. */
function keyWords(name: string): string {
  const [ending, unit] = UNITS.find(([pattern]) => pattern.test(name)) ?? [];
  const words = (ending ? name.replace(ending, "") : name).replaceAll("_", " ");
  return `${words.charAt(0).toUpperCase()}${words.slice(1)}${unit ? ` (${unit})` : ""}`;
}
