import { useEffect, useState } from "preact/hooks";
import { confirmImport } from "../../api/further_calls";
import { patients } from "../../api/calls";
import type { PatientEntry } from "../../api/types";
import { announce } from "../../app/announce";
import { sessionPath } from "../../app/paths";
import { go } from "../../app/router";
import { day } from "../../format/date";
import { Dialog } from "../../parts/Dialog";
import { Field } from "../../parts/Field";
import { JobProgress } from "../../parts/JobProgress";
import { useJob } from "../../state/use_job";
import { needWho } from "../../state/who";
import { t } from "../../text/text";
import type { ImportDesk, ImportView } from "./import_desk";

interface ConfirmPartProps {
  readonly desk: ImportDesk;
  readonly view: ImportView;
  readonly leave: () => void;
}

/** Make a session of the import, once nothing is missing. */
export function ConfirmPart({ desk, view, leave }: ConfirmPartProps) {
  const [open, setOpen] = useState(false);
  const ready = view.answer?.ready === true && view.saving === "saved" && !view.error;
  const why = !view.answer ? "" : view.saving !== "saved" ? t("bring.checking") : ready ? t("bring.ready") : t("bring.not_ready", { what: missing(view) });
  return (
    <>
      <span class="hint" role="status">{why}</span>
      <button type="button" class="main" disabled={!ready} onClick={() => setOpen(true)}>{t("bring.confirm")}</button>
      {open && <ConfirmDialog desk={desk} view={view} leave={leave} onClose={() => setOpen(false)} />}
    </>
  );
}

function missing({ told, answer }: ImportView): string {
  const lacks = told ? [...(told.code?.trim() ? [] : [t("whose.code")]), ...(told.date ? [] : [t("whose.date")]), ...(told.trials?.length ? [] : [t("recognised.one")])] : [];
  return lacks.length ? lacks.join(", ") : t("bring.faults", { count: answer?.problems.length ?? 0 });
}

function ConfirmDialog({ desk, view, leave, onClose }: ConfirmPartProps & { readonly onClose: () => void }) {
  const [title, setTitle] = useState("");
  const [map, setMap] = useState("");
  const running = useJob();
  const code = view.told?.code?.trim() ?? "";
  const same = useSame(code);
  const submit = async (event: Event): Promise<void> => {
    event.preventDefault();
    const by = await needWho();
    if (by === null) return;
    const job = await running.begin(() => confirmImport(desk.id, { by, title, save_map_as: map.trim() || null, patient: null }));
    const session = job?.state === "done" ? job.result?.["session"] : null;
    if (typeof session !== "string") return;
    announce(t("confirm.done"));
    leave();
    go(sessionPath(session));
  };
  return (
    <Dialog title={t("confirm.title")} onClose={() => running.running || onClose()}>
      <form onSubmit={(event) => void submit(event)}>
        {view.told && <p>{t(same ? "confirm.known" : "confirm.new", { code, date: day(view.told.date) })}</p>}
        {view.told && same && <p class="hint">{t("choose.patient", { code: same.code, count: same.sessions.length })}</p>}
        {!view.told && <p>{t("confirm.described")}</p>}
        <Field label={t("confirm.session_title")} hint={t("confirm.session_title_hint")}>
          {(ids) => <input {...ids} type="text" maxLength={200} value={title} onInput={(event) => setTitle(event.currentTarget.value)} />}
        </Field>
        {view.told && (
          <Field label={t("confirm.map")} hint={t("confirm.map_hint")}>
            {(ids) => <input {...ids} type="text" maxLength={200} autocomplete="off" value={map} onInput={(event) => setMap(event.currentTarget.value)} />}
          </Field>
        )}
        <JobProgress running={running} label={t("confirm.going")} />
        <p class="actions">
          <button type="submit" class="main" disabled={running.running}>{t("confirm.submit")}</button>
          {!running.running && <button type="button" onClick={onClose}>{t("dialog.cancel")}</button>}
        </p>
      </form>
    </Dialog>
  );
}

/** The patient who has this code already. */
function useSame(code: string): PatientEntry | null {
  const [same, setSame] = useState<PatientEntry | null>(null);
  useEffect(() => {
    if (code) patients(code).then((found) => setSame(found.find((one) => one.code === code) ?? null), () => setSame(null));
  }, [code]);
  return same;
}
