import { useEffect, useState } from "preact/hooks";
import { buildRetests, readRetests, writeRetests } from "../../api/further_calls";
import { announce } from "../../app/announce";
import { Dialog } from "../../parts/Dialog";
import { FaultList } from "../../parts/FaultList";
import { Field } from "../../parts/Field";
import { JobProgress } from "../../parts/JobProgress";
import { TickSessions } from "../../parts/TickSessions";
import { Unfolding } from "../../parts/Unfolding";
import { useJob } from "../../state/use_job";
import { needWho } from "../../state/who";
import { t } from "../../text/text";

const LEAST = 4;

/** Whether the clinic has its own retests; without them nothing is called a real change. */
export function RetestsPart({ changed }: { readonly changed: () => void }) {
  const [text, setText] = useState<string | null>(null);
  const [error, setError] = useState<unknown>(null);
  const [open, setOpen] = useState<"file" | "build" | null>(null);
  useEffect(() => void readRetests().then((answer) => setText(answer.text), setError), []);
  const kept = (next: string): void => {
    setText(next);
    setOpen(null);
    announce(t("retests.saved"));
    changed();
  };
  return (
    <section class="sheet retests" aria-labelledby="retests">
      <h2 id="retests">{t("retests.title")}</h2>
      <FaultList error={error} />
      {text === "" && <p><strong>{t("retests.none")}</strong> {t("retests.none_means")}</p>}
      {text && <p>{t("retests.there")}</p>}
      {text && <Unfolding label={t("own.text")}><pre class="toml" tabIndex={0}>{text}</pre></Unfolding>}
      <p class="actions">
        <button type="button" onClick={() => setOpen("file")}>{t("retests.by_file")}</button>
        <button type="button" onClick={() => setOpen("build")}>{t("retests.by_building")}</button>
      </p>
      {open === "file" && <FileDialog kept={kept} start={text ?? ""} onClose={() => setOpen(null)} />}
      {open === "build" && <BuildDialog kept={kept} onClose={() => setOpen(null)} />}
    </section>
  );
}

interface RetestDialogProps {
  readonly kept: (text: string) => void;
  readonly onClose: () => void;
}

function useSaving(kept: (text: string) => void): { error: unknown; clear: () => void; save: (text: string) => Promise<void> } {
  const [error, setError] = useState<unknown>(null);
  const save = async (text: string): Promise<void> => {
    const by = await needWho();
    if (by !== null) writeRetests(text, by).then((answer) => kept(answer.text), setError);
  };
  return { error, clear: () => setError(null), save };
}

function FileDialog({ kept, start, onClose }: RetestDialogProps & { readonly start: string }) {
  const [text, setText] = useState(start);
  const { error, clear, save } = useSaving(kept);
  const read = async (file: File | undefined): Promise<void> => {
    if (file) setText(await file.text());
    clear();
  };
  return (
    <Dialog title={t("retests.by_file_title")} onClose={onClose} wide>
      <form onSubmit={(event) => {
        event.preventDefault();
        void save(text);
      }}>
        <Field label={t("add.file")}>{(ids) => <input {...ids} type="file" accept=".toml" onChange={(event) => void read(event.currentTarget.files?.[0])} />}</Field>
        <Field label={t("retests.text")}>{(ids) => <textarea {...ids} class="toml-text" rows={12} spellcheck={false} value={text} onInput={(event) => setText(event.currentTarget.value)} />}</Field>
        <FaultList error={error} />
        <p class="actions">
          <button type="submit" class="main" disabled={!text.trim()}>{t("retests.save")}</button>
          <button type="button" onClick={onClose}>{t("dialog.cancel")}</button>
        </p>
      </form>
    </Dialog>
  );
}

interface Built {
  readonly text: string;
  readonly left_out: readonly string[];
  readonly problems: readonly string[];
}

function BuildDialog({ kept, onClose }: RetestDialogProps) {
  const [sessions, setSessions] = useState<readonly string[]>([]);
  const running = useJob();
  const { error, save } = useSaving(kept);
  const built = running.job?.state === "done" ? (running.job.result as unknown as Built) : null;
  return (
    <Dialog title={t("retests.by_building_title")} onClose={onClose} wide>
      <p>{t("retests.build_explains")}</p>
      <TickSessions label={t("retests.sessions")} ticked={sessions} onTick={setSessions} />
      <JobProgress running={running} label={t("retests.making")} told={false} />
      <FaultList error={running.error ?? error} />
      <p class="actions">
        <button type="button" class={built ? "" : "main"} disabled={sessions.length < LEAST || running.running} onClick={() => void running.begin(() => buildRetests(sessions))}>{t("retests.build")}</button>
        {built && <button type="button" class="main" onClick={() => void save(built.text)}>{t("retests.use")}</button>}
        <button type="button" onClick={onClose}>{t("dialog.cancel")}</button>
      </p>
      {built && (
        <>
          {[...built.left_out, ...built.problems].map((line) => <p key={line} class="caution-line">{line}</p>)}
          <pre class="toml" tabIndex={0}>{built.text}</pre>
        </>
      )}
    </Dialog>
  );
}
