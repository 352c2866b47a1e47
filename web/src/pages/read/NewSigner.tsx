import { useState } from "preact/hooks";
import { addSigner } from "../../api/calls";
import type { SignerEntry } from "../../api/types";
import { Dialog } from "../../parts/Dialog";
import { Field } from "../../parts/Field";
import { Trouble } from "../../parts/Trouble";
import { who } from "../../state/who";
import { t } from "../../text/text";

interface NewSignerProps {
  readonly onClose: () => void;
  readonly onAdded: (signer: SignerEntry) => void;
}

/** Someone who may sign: a name and a passphrase, typed twice. */
export function NewSigner({ onClose, onAdded }: NewSignerProps) {
  const [name, setName] = useState(who.value);
  const [first, setFirst] = useState("");
  const [second, setSecond] = useState("");
  const [error, setError] = useState<unknown>(null);
  const differ = second !== "" && first !== second;
  const submit = (event: Event): void => {
    event.preventDefault();
    addSigner(name.trim(), first).then(onAdded, setError);
  };
  return (
    <Dialog title={t("signer.title")} onClose={onClose}>
      <form onSubmit={submit}>
        <p>{t("signer.explains")}</p>
        <Field label={t("signer.name")}>
          {(ids) => <input {...ids} type="text" required maxLength={200} autocomplete="name" value={name} onInput={(event) => setName(event.currentTarget.value)} />}
        </Field>
        <Field label={t("signer.passphrase")} hint={t("signer.hint")}>
          {(ids) => <input {...ids} type="password" required autocomplete="new-password" value={first} onInput={(event) => setFirst(event.currentTarget.value)} />}
        </Field>
        <Field label={t("signer.again")} error={differ ? t("signer.differ") : undefined}>
          {(ids) => <input {...ids} type="password" required autocomplete="new-password" value={second} onInput={(event) => setSecond(event.currentTarget.value)} />}
        </Field>
        <Trouble error={error} />
        <p class="actions">
          <button type="submit" class="main" disabled={!name.trim() || !first || first !== second}>{t("signer.button")}</button>
          <button type="button" onClick={onClose}>{t("dialog.cancel")}</button>
        </p>
      </form>
    </Dialog>
  );
}
