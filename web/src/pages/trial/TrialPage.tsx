import { useEffect, useMemo } from "preact/hooks";
import type { Trial, TrialAnswer } from "../../api/types";
import type { PageProps } from "../../app/routes";
import { trialPath } from "../../app/paths";
import { stimulusText } from "../../format/stimulus";
import { Link } from "../../parts/Link";
import { Trouble } from "../../parts/Trouble";
import { word } from "../../state/about";
import type { Ready } from "../../state/use_session";
import { useSession } from "../../state/use_session";
import { t } from "../../text/text";
import { SessionHead } from "../session/SessionHead";
import { Waiting } from "../session/Waiting";
import { modelOf } from "./models";
import { momentOf } from "./moments";
import { Side } from "./Side";
import { Correction } from "./correction";
import { useTrial } from "./use_trial";
import { useTraceKeys } from "./keys";
import { Views } from "./Views";

/** One trial: its traces, its numbers, and what a person may correct. */
export function TrialPage({ params, query }: PageProps) {
  const { desk, view } = useSession(params["session"] ?? "");
  const { answer } = view;
  const document = answer?.document;
  if (!answer || !document) return <Waiting view={view} />;
  const id = params["trial"] ?? "";
  const ready = { desk, view, answer, document };
  const title = t("trial.title", { trial: id });
  return (
    <div class="trial-page">
      <SessionHead answer={answer} title={title} here="trial" facts={<TrialFacts entry={document.trials.find((one) => one.id === id)} />}>
        <Neighbours ready={ready} id={id} />
      </SessionHead>
      <Content key={id} ready={ready} id={id} query={query} />
    </div>
  );
}

interface PartProps {
  readonly ready: Ready;
  readonly id: string;
}

function TrialFacts({ entry }: { readonly entry: Trial | undefined }) {
  if (!entry) return null;
  return (
    <p class="trial-facts">
      <b>{word("kind", entry.kind)}</b> <span>{stimulusText(entry)}</span>
      {entry.outcome !== "done" && <span class="outcome">{entry.outcome}{entry.reason && `: ${entry.reason}`}</span>}
    </p>
  );
}

/** The trial before, the trial after, and a list of all. */
function Neighbours({ ready: { answer, document }, id }: PartProps) {
  const at = document.trials.findIndex((trial) => trial.id === id);
  const before = document.trials[at - 1]?.id;
  const after = document.trials[at + 1]?.id;
  const { session } = answer;
  return (
    <nav class="neighbours" aria-label={t("trial.others")}>
      {before !== undefined && <Link href={trialPath(session.id, before)} rel="prev" aria-label={t("trial.previous", { trial: before })}><span aria-hidden="true">‹</span> {before}</Link>}
      <span class="hint">{t("trial.count", { number: at + 1, count: document.trials.length })}</span>
      {after !== undefined && <Link href={trialPath(session.id, after)} rel="next" aria-label={t("trial.next", { trial: after })}>{after} <span aria-hidden="true">›</span></Link>}
    </nav>
  );
}

function Content({ ready, id, query }: PartProps & { readonly query: URLSearchParams }) {
  const { trial, error } = useTrial(ready.answer.session.id, id, ready.view.change);
  const entry = ready.document.trials.find((one) => one.id === id);
  if (!entry) return <p class="nothing">{t("trial.missing", { trial: id })}</p>;
  return (
    <>
      <Trouble error={error} />
      {trial ? <Loaded ready={ready} trial={trial} query={query} /> : !error && <p class="waiting">{t("trial.loading")}</p>}
    </>
  );
}

function Loaded({ ready, trial, query }: { readonly ready: Ready; readonly trial: TrialAnswer; readonly query: URLSearchParams }) {
  const session = ready.answer.session.id;
  const model = modelOf(session, trial);
  const correction = useMemo(() => new Correction(session, trial.id, model), [model]);
  const measure = query.get("measure");
  const asked = query.toString();
  useEffect(() => {
    const moment = momentOf(trial, ready.document, query);
    if (moment) model.show(moment);
  }, [asked]);
  useTraceKeys(ready, model, correction);
  return (
    <div class="trial-body">
      <Views ready={ready} trial={trial} model={model} correction={correction} query={query} />
      <Side ready={ready} trial={trial} model={model} correction={correction} marked={measure} />
    </div>
  );
}
