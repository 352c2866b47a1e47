import { useState } from "preact/hooks";
import { editsFile } from "../../api/calls";
import type { EditEntry } from "../../api/types";
import { trialPath } from "../../app/paths";
import { moment } from "../../format/date";
import { editSpan, editText } from "../../format/edit";
import { Link } from "../../parts/Link";
import { saveFile } from "../../parts/save_file";
import { Trouble } from "../../parts/Trouble";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import { historyOf } from "./edit_history";
import type { Correction } from "./correction";

interface EditListProps {
  readonly ready: Ready;
  readonly trial: string;
  readonly correction: Correction;
}

/** Every edit of the session with who, when and why; what was taken back stays in the list. */
export function EditList({ ready, trial, correction }: EditListProps) {
  const [error, setError] = useState<unknown>(null);
  const { log } = ready.answer.edits;
  const edits = log.filter((edit) => edit.kind !== "take_back");
  const download = (): void => {
    editsFile(ready.answer.session.id).then((file) => saveFile(file, "edits.json"), setError);
  };
  return (
    <>
      {!edits.length && <p class="nothing">{t("edits.none")}</p>}
      <ol class="edits">
        {[...edits].reverse().map((edit) => <Entry key={edit.id} ready={ready} edit={edit} here={edit.trial === trial} correction={correction} />)}
      </ol>
      {log.length > 0 && <p><button type="button" onClick={download}>{t("edits.download")}</button></p>}
      <p class="hint">{t("edits.hint")}</p>
      <Trouble error={error} />
    </>
  );
}

interface EntryProps {
  readonly ready: Ready;
  readonly edit: EditEntry;
  readonly here: boolean;
  readonly correction: Correction;
}

function Entry({ ready, edit, here, correction }: EntryProps) {
  const text = editText(edit);
  return (
    <li class={edit.holds ? "holds" : "taken-back"}>
      <p>
        {edit.trial !== null && !here && <Link href={trialPath(ready.answer.session.id, edit.trial, editSpan(edit))}>{edit.trial}</Link>}
        {edit.trial !== null && here && <b>{t("edits.here")}</b>}
        {edit.trial === null && <b>{t("edits.all_trials")}:</b>} {text}
        {!edit.holds && <b> {t("edits.no_longer")}</b>}
      </p>
      <p class="small">{edit.reason}</p>
      <p class="hint">{t("edits.by", { by: edit.by, at: moment(edit.at) })}</p>
      <History edit={edit} log={ready.answer.edits.log} />
      {edit.holds && (
        <button type="button" class="quiet" aria-label={t("edits.take_back_this", { number: edit.id, edit: text })}
          onClick={() => correction.propose({ kind: "take_back", trial: null, values: { of: edit.id } })}>
          {t("edits.take_back")}
        </button>
      )}
    </li>
  );
}

/** Who took an edit back, and who brought it back again. */
function History({ edit, log }: { readonly edit: EditEntry; readonly log: readonly EditEntry[] }) {
  const entries = historyOf(edit, log);
  if (!entries.length) return null;
  return (
    <ul class="history">
      {entries.map(({ entry, undoes }) => {
        const told = { reason: entry.reason, by: entry.by, at: moment(entry.at) };
        return <li key={entry.id} class="hint">{undoes ? t("edits.undone", told) : t("edits.restored", told)}</li>;
      })}
    </ul>
  );
}
