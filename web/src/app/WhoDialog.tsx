import { useState } from "preact/hooks";
import { Dialog } from "../parts/Dialog";
import { Field } from "../parts/Field";
import { useStore } from "../state/store";
import { who, whoAsked } from "../state/who";
import { t } from "../text/text";

/** Asks once who works here. */
export function WhoDialog() {
  const answer = useStore(whoAsked);
  return answer && <Form answer={answer} />;
}

function Form({ answer }: { readonly answer: (name: string | null) => void }) {
  const [name, setName] = useState(who.value);
  const submit = (event: Event): void => {
    event.preventDefault();
    if (name.trim()) answer(name.trim());
  };
  return (
    <Dialog title={t("who.title")} onClose={() => answer(null)}>
      <form onSubmit={submit}>
        <p>{t("who.why")}</p>
        <Field label={t("who.name")} hint={t("who.hint")}>
          {(ids) => <input {...ids} type="text" required maxLength={200} autocomplete="name" autofocus value={name} onInput={(event) => setName(event.currentTarget.value)} />}
        </Field>
        <p class="actions">
          <button type="submit" class="main">{t("who.save")}</button>
          <button type="button" onClick={() => answer(null)}>{t("dialog.cancel")}</button>
        </p>
      </form>
    </Dialog>
  );
}
