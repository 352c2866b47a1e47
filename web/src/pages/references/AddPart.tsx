import { useState } from "preact/hooks";
import { addReference, checkReference } from "../../api/further_calls";
import { announce } from "../../app/announce";
import { FaultList } from "../../parts/FaultList";
import { Field } from "../../parts/Field";
import { useKept } from "../../state/use_kept";
import { needWho } from "../../state/who";
import { t } from "../../text/text";
import { fileName } from "./order";
import type { ChangesProps } from "./OrderPart";

const EMPTY = { name: "", text: "" };

/** A set from a file or pasted: looked at first, with every fault by its line. */
export function AddPart({ changed }: Pick<ChangesProps, "changed">) {
  const [form, setForm, clear] = useKept("reference", EMPTY);
  const [fine, setFine] = useState<string | null>(null);
  const [error, setError] = useState<unknown>(null);
  const set = (part: Partial<typeof EMPTY>): void => {
    setForm({ ...form, ...part });
    setFine(null);
    setError(null);
  };
  const read = async (file: File | undefined): Promise<void> => {
    if (file) set({ name: fileName(file.name), text: await file.text() });
  };
  const failed = (failure: unknown): void => {
    setFine(null);
    setError(failure);
  };
  const check = (): void => {
    checkReference(fileName(form.name), form.text).then((found) => {
      setError(null);
      setFine(t("add.fine", { sets: found.sets.filter(({ own }) => own).map(({ id }) => id).join(", ") }));
    }, failed);
  };
  const add = async (event: Event): Promise<void> => {
    event.preventDefault();
    const by = await needWho();
    if (by === null) return;
    addReference(fileName(form.name), form.text, by).then((next) => {
      announce(t("add.done"));
      clear();
      setFine(null);
      setError(null);
      changed(next);
    }, failed);
  };
  return (
    <section class="sheet paste" aria-labelledby="add">
      <h2 id="add">{t("add.title")}</h2>
      <form onSubmit={(event) => void add(event)}>
        <Field label={t("add.file")}>
          {(ids) => <input {...ids} type="file" accept=".toml" onChange={(event) => void read(event.currentTarget.files?.[0])} />}
        </Field>
        <Field label={t("add.name")} hint={t("add.name_hint")}>
          {(ids) => <input {...ids} type="text" maxLength={96} autocomplete="off" value={form.name} onInput={(event) => set({ name: event.currentTarget.value })} />}
        </Field>
        <Field label={t("add.text")}>
          {(ids) => <textarea {...ids} rows={6} spellcheck={false} value={form.text} onInput={(event) => set({ text: event.currentTarget.value })} />}
        </Field>
        <FaultList error={error} />
        <p class="hint" role="status">{fine}</p>
        <p class="actions">
          <button type="button" disabled={!form.text.trim()} onClick={check}>{t("add.check")}</button>
          <button type="submit" class="main" disabled={!form.text.trim() || !form.name.trim() || error !== null}>{t("add.add")}</button>
        </p>
      </form>
    </section>
  );
}
