import { useEffect, useState } from "preact/hooks";
import { dropImport } from "../../api/further_calls";
import { connection } from "../../api/connection";
import { announce } from "../../app/announce";
import { bringPath } from "../../app/paths";
import { go, guard } from "../../app/router";
import type { PageProps } from "../../app/routes";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import { ColumnsPart } from "./ColumnsPart";
import { ConfirmPart } from "./ConfirmPart";
import { FilesPart } from "./FilesPart";
import { type ImportDesk, importDesk } from "./import_desk";
import { PatientPart } from "./PatientPart";
import { PreviewPart } from "./PreviewPart";
import { TrialsPart } from "./TrialsPart";

/** One import on one screen: files and faults, the traces, and what they are taken for. */
export function ImportPage({ params }: PageProps) {
  const desk = importDesk(params["import"] ?? "");
  const view = useStore(desk.view);
  const connected = useStore(connection);
  const [trial, setTrial] = useState("");
  const leave = useLeaving(desk);
  useEffect(() => {
    if (connected === "fine") void desk.load();
  }, [desk, connected]);
  const drop = (): void => {
    desk.view.value.sending?.stop();
    dropImport(desk.id).then(() => {
      announce(t("bring.dropped"));
      leave();
      go(bringPath());
    }, (error: unknown) => desk.view.update((now) => ({ ...now, error })));
  };
  const { answer, told } = view;
  const chosen = answer?.preview.find(({ id }) => id === trial) ?? answer?.preview[0];
  const shown = told?.trials?.some(({ id }) => id === trial) ? trial : (chosen?.id ?? told?.trials?.[0]?.id ?? "");
  return (
    <>
      <PageHead title={t("bring.one_title")} crumbs={[{ href: bringPath(), label: t("bring.title") }]}>
        <button type="button" class="quiet" onClick={drop}>{t("bring.discard")}</button>
        <ConfirmPart desk={desk} view={view} leave={leave} />
      </PageHead>
      <Trouble error={view.failure ?? view.error} />
      <div class="bring">
        <div class="column"><FilesPart desk={desk} view={view} /></div>
        <div class="column">{answer && <PreviewPart answer={answer} shown={shown} onChoose={setTrial} />}</div>
        <div class="column">
          {answer && told && (
            <>
              <PatientPart desk={desk} told={told} />
              <TrialsPart desk={desk} told={told} answer={answer} shown={shown} onChoose={setTrial} />
              <ColumnsPart desk={desk} told={told} answer={answer} />
            </>
          )}
          {answer && !told && answer.files.length > 0 && (
            <section class="sheet" aria-labelledby="toml">
              <h2 id="toml">{t("bring.toml")}</h2>
              <p class="hint">{t("bring.toml_counts")}</p>
              <pre class="toml" tabIndex={0}>{answer.text}</pre>
            </section>
          )}
        </div>
      </div>
    </>
  );
}

/** Going elsewhere asks first, until what is here was confirmed or dropped. */
function useLeaving(desk: ImportDesk): () => void {
  const [state] = useState({ may: false });
  useEffect(() => {
    const busy = (): boolean => !state.may && ((desk.view.value.answer?.files.length ?? 0) > 0 || !!desk.view.value.sending?.running);
    const unguard = guard(() => !busy() || confirm(t("bring.leave")));
    const unload = (event: BeforeUnloadEvent): void => {
      if (desk.view.value.sending?.running || desk.view.value.saving !== "saved") event.preventDefault();
    };
    addEventListener("beforeunload", unload);
    return () => {
      unguard();
      removeEventListener("beforeunload", unload);
    };
  }, [desk]);
  return () => {
    state.may = true;
  };
}
