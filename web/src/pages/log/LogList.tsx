import { useEffect, useState } from "preact/hooks";
import { log as askLog, type LogWish, reverse } from "../../api/calls";
import type { LogEntry } from "../../api/types";
import { sessionPath } from "../../app/paths";
import { moment } from "../../format/date";
import { Link } from "../../parts/Link";
import { Trouble } from "../../parts/Trouble";
import { t } from "../../text/text";
import { FilingForm } from "../patients/FilingForm";

const PAGE = 50;

interface LogListProps {
  readonly about: Pick<LogWish, "patient" | "session">;
  readonly changed: () => void;
}

/** Entries of the log, the last first, a page at a time. */
export function LogList({ about, changed }: LogListProps) {
  const [entries, setEntries] = useState<LogEntry[] | null>(null);
  const [more, setMore] = useState(false);
  const [error, setError] = useState<unknown>(null);
  const [reversing, setReversing] = useState<LogEntry | null>(null);
  const read = (before?: number): void => {
    askLog({ ...about, limit: PAGE, ...(before === undefined ? {} : { before }) }).then((found) => {
      setEntries((known) => (before === undefined ? found : [...(known ?? []), ...found]));
      setMore(found.length === PAGE);
    }, setError);
  };
  useEffect(() => read(), []);
  if (error) return <Trouble error={error} />;
  if (!entries) return <p class="waiting">{t("log.loading")}</p>;
  const last = entries.at(-1);
  return (
    <>
      <table class="log">
        <caption class="unseen">{t("log.title")}</caption>
        <thead>
          <tr>
            <th scope="col">{t("log.when")}</th>
            <th scope="col">{t("log.who")}</th>
            <th scope="col">{t("log.what")}</th>
            <th scope="col"><span class="unseen">{t("sessions.actions")}</span></th>
          </tr>
        </thead>
        <tbody>{entries.map((entry) => <Row key={entry.id} entry={entry} reverse={() => setReversing(entry)} />)}</tbody>
      </table>
      {!entries.length && <p class="nothing">{t("log.none")}</p>}
      {more && last && <p><button type="button" onClick={() => read(last.id)}>{t("log.older")}</button></p>}
      {reversing && <ReverseDialog entry={reversing} onClose={() => setReversing(null)} changed={changed} />}
    </>
  );
}

function Row({ entry, reverse }: { readonly entry: LogEntry; readonly reverse: () => void }) {
  return (
    <tr class={entry.reversed_by === null ? undefined : "reversed"}>
      <td class="nowrap">{moment(entry.at)}</td>
      <td>{entry.by}</td>
      <td>
        {entry.session ? <Link href={sessionPath(entry.session)}>{entry.text}</Link> : entry.text}
        {entry.reversed_by !== null && <span class="under">{t("log.reversed", { id: entry.reversed_by })}</span>}
      </td>
      <td class="n">{entry.reversible && entry.reversed_by === null && <button type="button" class="quiet" onClick={reverse} aria-label={t("log.reverse_this", { text: entry.text })}>{t("log.reverse")}</button>}</td>
    </tr>
  );
}

interface ReverseDialogProps {
  readonly entry: LogEntry;
  readonly onClose: () => void;
  readonly changed: () => void;
}

function ReverseDialog({ entry, onClose, changed }: ReverseDialogProps) {
  return (
    <FilingForm
      title={t("log.reverse_title")}
      explains={t("log.reverse_explains", { text: entry.text })}
      submit={t("log.reverse")}
      done={t("log.reverse_done")}
      ready
      act={(by, reason) => reverse(entry.id, by, reason)}
      onClose={onClose}
      changed={changed}
    />
  );
}
