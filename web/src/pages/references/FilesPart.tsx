import { useState } from "preact/hooks";
import { removeReference } from "../../api/further_calls";
import type { ReferenceFile } from "../../api/further_types";
import { announce } from "../../app/announce";
import { moment } from "../../format/date";
import { Dialog } from "../../parts/Dialog";
import { ReasonField } from "../../parts/ReasonField";
import { Trouble } from "../../parts/Trouble";
import { Unfolding } from "../../parts/Unfolding";
import { rememberReason } from "../../state/reasons";
import { needWho } from "../../state/who";
import { t } from "../../text/text";
import { ORDER_FILE } from "./order";
import type { ChangesProps } from "./OrderPart";

/** The clinic's own files, which can be taken out of use with a reason. */
export function FilesPart({ answer, changed }: ChangesProps) {
  const [removing, setRemoving] = useState<ReferenceFile | null>(null);
  const files = answer.files.filter(({ name }) => name !== ORDER_FILE);
  return (
    <section class="sheet" aria-labelledby="own-files">
      <h2 id="own-files">{t("own.title")}</h2>
      {!files.length && <p class="nothing">{t("own.none")}</p>}
      <ul class="plain">
        {files.map((file) => (
          <li key={file.name}>
            <strong>{file.name}</strong> <button type="button" class="quiet" aria-label={t("own.remove_this", { name: file.name })} onClick={() => setRemoving(file)}>{t("own.remove")}</button>
            <span class="under">{t("own.added", { by: file.added_by, at: moment(file.added_at) })}</span>
            <Unfolding label={t("own.text")}><pre class="toml" tabIndex={0}>{file.text}</pre></Unfolding>
          </li>
        ))}
      </ul>
      {removing && <RemoveDialog file={removing} changed={changed} onClose={() => setRemoving(null)} />}
    </section>
  );
}

interface RemoveDialogProps extends Pick<ChangesProps, "changed"> {
  readonly file: ReferenceFile;
  readonly onClose: () => void;
}

function RemoveDialog({ file, changed, onClose }: RemoveDialogProps) {
  const [reason, setReason] = useState("");
  const [error, setError] = useState<unknown>(null);
  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    const by = await needWho();
    if (by === null) return;
    try {
      const next = await removeReference(file.name, by, reason);
      rememberReason(reason);
      announce(t("own.removed", { name: file.name }));
      onClose();
      changed(next);
    } catch (failure) {
      setError(failure);
    }
  };
  return (
    <Dialog title={t("own.remove_title", { name: file.name })} onClose={onClose}>
      <form onSubmit={(event) => void submit(event)}>
        <p>{t("own.remove_explains")}</p>
        <ReasonField value={reason} onInput={setReason} />
        <Trouble error={error} />
        <p class="actions">
          <button type="submit" class="main" disabled={!reason.trim()}>{t("own.remove")}</button>
          <button type="button" onClick={onClose}>{t("dialog.cancel")}</button>
        </p>
      </form>
    </Dialog>
  );
}
