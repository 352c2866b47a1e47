import type { KeyEntry } from "../../api/types";
import { Field } from "../../parts/Field";
import { about } from "../../state/about";
import { keyValue } from "../../format/key_value";
import { useKept } from "../../state/use_kept";
import { t } from "../../text/text";
import type { CorrectProps } from "./CorrectPanel";

const START = { key: "", value: "" };

/** A key of the trial that was written down wrong. */
export function StimulusForm({ trial, correction }: CorrectProps) {
  const keys = about.value?.stimulus_keys[trial.kind] ?? {};
  const [form, setForm] = useKept(`stimulus.${trial.id}`, START);
  const names = Object.keys(keys);
  const key = names.includes(form.key) ? form.key : (names[0] ?? "");
  const entry = keys[key];
  if (!entry) return null;
  const value = keyValue(entry.type, form.value);
  return (
    <details class="part">
      <summary>{t("stimulus.title")}</summary>
      <p class="hint">{t("stimulus.hint")}</p>
      <Field label={t("stimulus.key")}>
        {(ids) => (
          <select {...ids} value={key} onChange={(event) => setForm({ key: event.currentTarget.value, value: "" })}>
            {names.map((name) => <option key={name} value={name}>{name.replaceAll("_", " ")}</option>)}
          </select>
        )}
      </Field>
      <Value entry={entry} text={form.value} onInput={(text) => setForm({ key, value: text })} wrong={form.value !== "" && value === null} />
      <button type="button" disabled={value === null} onClick={() => correction.propose({ kind: "stimulus", trial: trial.id, values: { key, value } })}>{t("stimulus.button")}</button>
    </details>
  );
}

interface ValueProps {
  readonly entry: KeyEntry;
  readonly text: string;
  readonly onInput: (text: string) => void;
  readonly wrong: boolean;
}

function Value({ entry, text, onInput, wrong }: ValueProps) {
  const words = entry.type === "flag" ? ["true", "false"] : entry.words;
  return (
    <Field label={t("stimulus.value")} hint={entry.expected} error={wrong ? t("stimulus.wrong", { expected: entry.expected }) : undefined}>
      {(ids) => words.length ? (
        <select {...ids} value={text} onChange={(event) => onInput(event.currentTarget.value)}>
          <option value="">{t("stimulus.choose")}</option>
          {words.map((word) => <option key={word} value={word}>{word}</option>)}
        </select>
      ) : (
        <input {...ids} type="text" value={text} onInput={(event) => onInput(event.currentTarget.value)} />
      )}
    </Field>
  );
}
