import { useEffect, useState } from "preact/hooks";
import { sign, signers as askSigners } from "../../api/calls";
import { Refused } from "../../api/errors";
import type { SignerEntry } from "../../api/types";
import { announce } from "../../app/announce";
import { Field } from "../../parts/Field";
import { Trouble } from "../../parts/Trouble";
import type { DraftKeeper } from "../../state/draft";
import { useStore } from "../../state/store";
import type { Ready } from "../../state/use_session";
import { who } from "../../state/who";
import { t } from "../../text/text";
import { NewSigner } from "./NewSigner";
import type { PreviewState } from "./Preview";

interface SignFormProps {
  readonly ready: Ready;
  readonly keeper: DraftKeeper;
  readonly preview: PreviewState;
}

/** Sign what the preview shows, with name and passphrase. */
export function SignForm({ ready, keeper, preview }: SignFormProps) {
  const [signers, setSigners] = useState<SignerEntry[] | null>(null);
  const [adding, setAdding] = useState(false);
  const [name, setName] = useState("");
  const [error, setError] = useState<unknown>(null);
  useEffect(() => {
    askSigners().then((found) => {
      setSigners(found);
      setName((known) => known || (found.find((one) => one.name === who.value) ?? found[0])?.name || "");
    }, setError);
  }, []);
  const added = (signer: SignerEntry): void => {
    setSigners((known) => [...(known ?? []), signer]);
    setName(signer.name);
    setAdding(false);
  };
  return (
    <section class="sheet sign" aria-labelledby="sign">
      <div class="sheet-head">
        <h2 id="sign">{t("sign.title")}</h2>
        <button type="button" class="quiet" onClick={() => setAdding(true)}>{t("sign.new_signer")}</button>
      </div>
      <Trouble error={error} />
      {signers?.length === 0 && <p>{t("sign.no_signer")}</p>}
      {!!signers?.length && <Form ready={ready} keeper={keeper} preview={preview} signers={signers} name={name} setName={setName} />}
      {adding && <NewSigner onClose={() => setAdding(false)} onAdded={added} />}
    </section>
  );
}

interface FormProps extends SignFormProps {
  readonly signers: readonly SignerEntry[];
  readonly name: string;
  readonly setName: (name: string) => void;
}

function Form({ ready, keeper, preview, signers, name, setName }: FormProps) {
  const [passphrase, setPassphrase] = useState("");
  const [notices, setNotices] = useState<readonly string[]>([]);
  const [error, setError] = useState<unknown>(null);
  const [busy, setBusy] = useState(false);
  const { saving } = useStore(keeper.view);
  const hinders = hindrance(ready, preview, saving !== "saved");
  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    setBusy(true);
    setError(null);
    try {
      const answer = await sign(ready.answer.session.id, name, passphrase, preview.digest);
      setNotices(answer.notices);
      preview.show(answer.version.number);
      announce(t("sign.done", { number: answer.version.number }));
    } catch (failure) {
      setError(failure);
    } finally {
      setPassphrase("");
      setBusy(false);
      await ready.desk.load();
    }
  };
  return (
    <form onSubmit={(event) => void submit(event)}>
      <p class="hint">{t("sign.hint")}</p>
      <Field label={t("sign.name")}>
        {(ids) => (
          <select {...ids} value={name} onChange={(event) => setName(event.currentTarget.value)}>
            {signers.map((signer) => <option key={signer.name} value={signer.name}>{signer.name}</option>)}
          </select>
        )}
      </Field>
      <Field label={t("sign.passphrase")}>
        {(ids) => <input {...ids} type="password" required autocomplete="current-password" value={passphrase} onInput={(event) => setPassphrase(event.currentTarget.value)} />}
      </Field>
      <Trouble error={error} title={error instanceof Refused ? t("sign.not_signed") : t("trouble.title")} />
      {notices.map((notice) => <p key={notice} class="caution-line" role="status">{notice}</p>)}
      <p class="hint">{hinders ?? t("sign.digest", { digest: preview.digest.slice(0, 16) })}</p>
      <button type="submit" class="main" disabled={busy || hinders !== null || !passphrase}>{t("sign.button", { number: ready.answer.versions.length + 1 })}</button>
    </form>
  );
}

/** Why signing has to wait; null when the preview shows what would be signed. */
function hindrance({ answer }: Ready, preview: PreviewState, unsaved: boolean): string | null {
  if (unsaved) return t("sign.unsaved");
  if (answer.signed_as_shown !== null) return t("sign.already", { number: answer.signed_as_shown });
  if (preview.version !== null) return t("sign.other_shown");
  return preview.page === null || preview.digest !== answer.reading_digest ? t("sign.no_preview") : null;
}
