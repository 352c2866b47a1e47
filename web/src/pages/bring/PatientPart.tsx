import type { Told } from "../../api/further_types";
import { Field } from "../../parts/Field";
import { NumberInput } from "../../parts/NumberInput";
import { t } from "../../text/text";
import type { ImportDesk } from "./import_desk";

const SEXES = ["unknown", "female", "male", "other"] as const;

/** Whose recording it is, of which day, and how it was made. */
export function PatientPart({ desk, told }: { readonly desk: ImportDesk; readonly told: Told }) {
  const set = (part: Partial<Told>): void => desk.change((now) => ({ ...now, ...part }));
  return (
    <section class="sheet" aria-labelledby="whose">
      <h2 id="whose">{t("whose.title")}</h2>
      <div class="fields">
        <Field label={t("whose.code")} error={told.code?.trim() ? undefined : t("whose.needed")}>
          {(ids) => <input {...ids} type="text" required autocomplete="off" maxLength={200} value={told.code ?? ""} onInput={(event) => set({ code: event.currentTarget.value })} />}
        </Field>
        <Field label={t("whose.date")} error={told.date ? undefined : t("whose.needed")}>
          {(ids) => <input {...ids} type="date" required value={told.date ?? ""} onInput={(event) => set({ date: event.currentTarget.value })} />}
        </Field>
        <Field label={t("whose.age")}>
          {(ids) => <NumberInput {...ids} value={told.age_years} onNumber={(age_years) => set({ age_years })} />}
        </Field>
        <Field label={t("whose.sex")}>
          {(ids) => (
            <select {...ids} value={told.sex ?? "unknown"} onChange={(event) => set({ sex: event.currentTarget.value as (typeof SEXES)[number] })}>
              {SEXES.map((sex) => <option key={sex} value={sex}>{t(`sex.${sex}`)}</option>)}
            </select>
          )}
        </Field>
      </div>
      <Conditions told={told} set={set} />
    </section>
  );
}

/** Free pairs of name and value, such as light left in the room. */
function Conditions({ told, set }: { readonly told: Told; readonly set: (part: Partial<Told>) => void }) {
  const entries = Object.entries(told.conditions ?? {});
  const put = (at: number, name: string, value: string | number): void =>
    set({ conditions: Object.fromEntries(entries.map((entry, index) => (index === at ? [name, value] : entry))) });
  const free = ["light", "medication", "alertness task", "remark"].find((name) => !told.conditions?.[name]) ?? `remark ${entries.length + 1}`;
  return (
    <fieldset>
      <legend>{t("whose.conditions")}</legend>
      {entries.map(([name, value], index) => (
        <p key={index} class="condition">
          <input type="text" aria-label={t("whose.condition_name", { number: index + 1 })} value={name} onChange={(event) => event.currentTarget.value.trim() && put(index, event.currentTarget.value.trim(), value)} />
          <input type="text" aria-label={t("whose.condition_value", { name })} value={String(value)} onInput={(event) => put(index, name, event.currentTarget.value)} />
          <button type="button" class="quiet" aria-label={t("whose.condition_drop", { name })} onClick={() => set({ conditions: Object.fromEntries(entries.filter((_, at) => at !== index)) })}>×</button>
        </p>
      ))}
      <button type="button" class="quiet" onClick={() => set({ conditions: { ...told.conditions, [free]: "" } })}>{t("whose.condition_add")}</button>
    </fieldset>
  );
}
