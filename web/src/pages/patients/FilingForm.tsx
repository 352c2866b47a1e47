import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";
import { announce } from "../../app/announce";
import { Dialog } from "../../parts/Dialog";
import { ReasonField } from "../../parts/ReasonField";
import { Trouble } from "../../parts/Trouble";
import { rememberReason } from "../../state/reasons";
import { needWho } from "../../state/who";
import { t } from "../../text/text";

interface FilingFormProps {
  readonly title: string;
  readonly explains: string;
  readonly submit: string;
  readonly done: string;
  /** Nothing can be done until a patient is chosen. */
  readonly ready: boolean;
  readonly act: (by: string, reason: string) => Promise<unknown>;
  readonly onClose: () => void;
  readonly changed: () => void;
  readonly children?: ComponentChildren;
}

/** A change of filing: what will happen, why, and what went wrong if it did. */
export function FilingForm({ title, explains, submit, done, ready, act, onClose, changed, children }: FilingFormProps) {
  const [reason, setReason] = useState("");
  const [error, setError] = useState<unknown>(null);
  const [busy, setBusy] = useState(false);
  const go = async (event: Event): Promise<void> => {
    event.preventDefault();
    const by = await needWho();
    if (by === null) return;
    setBusy(true);
    try {
      await act(by, reason);
      rememberReason(reason);
      announce(done);
      changed();
      onClose();
    } catch (failure) {
      setError(failure);
      setBusy(false);
    }
  };
  return (
    <Dialog title={title} onClose={onClose}>
      <form onSubmit={(event) => void go(event)}>
        <p>{explains}</p>
        {children}
        <ReasonField value={reason} onInput={setReason} />
        <Trouble error={error} />
        <p class="actions">
          <button type="submit" class="main" disabled={busy || !ready || !reason.trim()}>{submit}</button>
          <button type="button" onClick={onClose}>{t("dialog.cancel")}</button>
        </p>
      </form>
    </Dialog>
  );
}
