import type { ImportFile, ProblemEntry } from "../../api/further_types";
import { fixed } from "../../format/number";
import { fileSize } from "../../format/words";
import { sentenceOf } from "../../parts/Trouble";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import { DropZone } from "./DropZone";
import type { ImportDesk, ImportView } from "./import_desk";
import { type Sending, type Sent, shareSent } from "./sending";

const WORDS = { waiting: "send.waiting", going: "send.going", there: "send.there", refused: "send.refused", stopped: "send.stopped" } as const;
const KINDS = { trace: "file.trace", description: "file.description", other: "file.other" } as const;

/** The files that came, those on their way, and everything that is wrong with them. */
export function FilesPart({ desk, view }: { readonly desk: ImportDesk; readonly view: ImportView }) {
  const { answer, sending } = view;
  return (
    <>
      {sending && <SendingList sending={sending} />}
      <section class="sheet" aria-labelledby="files">
        <h2 id="files">{t("bring.files", { count: answer?.files.length ?? 0 })}</h2>
        {answer && <FileList files={answer.files} problems={answer.problems} />}
        {!answer && !view.failure && <p class="waiting">{t("bring.reading")}</p>}
        <DropZone small onFiles={(given) => void desk.send(given)} />
      </section>
      {answer && <WrongList problems={answer.problems} />}
    </>
  );
}

function FileList({ files, problems }: { readonly files: readonly ImportFile[]; readonly problems: readonly ProblemEntry[] }) {
  if (!files.length) return <p class="nothing">{t("bring.no_files")}</p>;
  const faults = (path: string): number => problems.filter(({ file }) => file === path).length;
  return (
    <ul class="plain files">
      {files.map(({ path, bytes, kind }) => (
        <li key={path}>
          <span>{path}</span>
          <span class="under">{t(KINDS[kind])}, {fileSize(bytes)}{faults(path) > 0 && `, ${t("bring.faults", { count: faults(path) })}`}</span>
        </li>
      ))}
    </ul>
  );
}

function WrongList({ problems }: { readonly problems: readonly ProblemEntry[] }) {
  return (
    <section class="sheet" aria-labelledby="wrong">
      <h2 id="wrong">{t("bring.wrong", { count: problems.length })}</h2>
      <div role="status">
        {!problems.length && <p class="hint">{t("bring.nothing_wrong")}</p>}
        <ul class="plain wrong">
        {problems.map((problem, index) => (
          <li key={index}>
            <p>{problem.message} <span class="code">{problem.code}</span></p>
            {(problem.found || problem.expected) && (
              <p class="small">{problem.found && t("trouble.found", { found: problem.found })} {problem.expected && t("trouble.expected", { expected: problem.expected })}</p>
            )}
          </li>
        ))}
      </ul>
      </div>
    </section>
  );
}

function SendingList({ sending }: { readonly sending: Sending }) {
  const files = useStore(sending.files);
  const running = files.some(({ state }) => state === "waiting" || state === "going");
  const refused = files.filter(({ state }) => state === "refused" || state === "stopped");
  if (!running && !refused.length) return null;
  return (
    <section class="sheet" aria-labelledby="sending">
      <div class="sheet-head">
        <h2 id="sending">{t(running ? "send.title" : "send.not_taken", { count: running ? files.length : refused.length })}</h2>
        {running && <button type="button" onClick={() => sending.stop()}>{t("send.stop")}</button>}
      </div>
      {running && <p><progress aria-label={t("send.whole")} max={1} value={shareSent(files)} /> {t("session.share", { share: fixed(100 * shareSent(files), 0) })}</p>}
      <div role="status">
        <ul class="plain files">{(running ? files : refused).map((one) => <SentRow key={one.path} one={one} />)}</ul>
      </div>
    </section>
  );
}

function SentRow({ one }: { readonly one: Sent }) {
  return (
    <li>
      <span>{one.path}</span>
      <span class="under">{t(WORDS[one.state])}{one.error !== null && `: ${sentenceOf(one.error)}`}</span>
      {one.state === "going" && <progress aria-label={t("send.of", { path: one.path })} max={one.bytes || 1} value={one.sent} />}
    </li>
  );
}
