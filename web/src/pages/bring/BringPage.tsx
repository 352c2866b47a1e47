import { useEffect, useState } from "preact/hooks";
import { beginImport, dropImport, imports as askImports } from "../../api/further_calls";
import type { ImportWaiting } from "../../api/further_types";
import { connection } from "../../api/connection";
import { announce } from "../../app/announce";
import { importPath } from "../../app/paths";
import { go } from "../../app/router";
import { fileSize } from "../../format/words";
import { Link } from "../../parts/Link";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { useStore } from "../../state/store";
import { needWho } from "../../state/who";
import { t } from "../../text/text";
import { DropZone } from "./DropZone";
import { importDesk } from "./import_desk";
import { type Given, sessionsOf } from "./sessions_of";
import { useNames } from "./use_names";

/** Where recordings come in: one import a session; those that are not confirmed yet are listed. */
export function BringPage() {
  const [waiting, setWaiting] = useState<ImportWaiting[] | null>(null);
  const [alone, setAlone] = useState<readonly Given[]>([]);
  const [error, setError] = useState<unknown>(null);
  const connected = useStore(connection);
  const again = (): void => void askImports().then(setWaiting, setError);
  useEffect(again, [connected]);
  const take = (given: Given[]): void => {
    setError(null);
    begin(given).then((left) => {
      setAlone(left);
      again();
    }, setError);
  };
  return (
    <>
      <PageHead title={t("bring.title")} />
      <DropZone onFiles={take} />
      <Trouble error={error} />
      {alone.length > 0 && <p class="caution-line" role="status">{t("bring.alone", { count: alone.length, files: alone.slice(0, 5).map(({ path }) => path).join(", ") })}</p>}
      {waiting && <Waiting waiting={waiting} changed={again} failed={setError} />}
    </>
  );
}

/** Begin an import for each session and send its files; one alone is opened at once. */
async function begin(given: readonly Given[]): Promise<Given[]> {
  const { parcels, alone } = sessionsOf(given);
  const by = parcels.length ? await needWho() : null;
  if (by === null) return alone;
  for (const { files } of parcels) {
    const { id } = await beginImport(by);
    const sent = importDesk(id).send(files);
    if (parcels.length === 1) go(importPath(id));
    else await sent;
  }
  return alone;
}

interface WaitingProps {
  readonly waiting: readonly ImportWaiting[];
  readonly changed: () => void;
  readonly failed: (error: unknown) => void;
}

function Waiting({ waiting, changed, failed }: WaitingProps) {
  const names = useNames(waiting);
  const nameOf = (id: string): string => names.get(id) ?? id;
  const drop = (id: string): void => {
    dropImport(id).then(() => {
      announce(t("bring.dropped"));
      changed();
    }, failed);
  };
  return (
    <section class="sheet" aria-labelledby="waiting">
      <h2 id="waiting">{t("bring.waiting")}</h2>
      {!waiting.length && <p class="nothing">{t("bring.none_waiting")}</p>}
      {waiting.length > 0 && (
        <table>
          <caption class="unseen">{t("bring.waiting")}</caption>
          <thead><tr><th scope="col">{t("bring.import")}</th><th scope="col">{t("bring.holds")}</th><th scope="col"><span class="unseen">{t("sessions.actions")}</span></th></tr></thead>
          <tbody>
            {waiting.map(({ id, files, bytes, described }) => (
              <tr key={id}>
                <th scope="row"><Link href={importPath(id)}>{t("bring.open", { name: nameOf(id) })}</Link></th>
                <td>{t("bring.file_count", { count: files })}, {fileSize(bytes)}{described && `, ${t("bring.described")}`}</td>
                <td class="n"><button type="button" class="quiet" onClick={() => drop(id)} aria-label={t("bring.drop_this", { name: nameOf(id) })}>{t("bring.remove")}</button></td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </section>
  );
}
