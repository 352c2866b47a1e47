import { useState } from "preact/hooks";
import { Lost } from "../../api/errors";
import type { TrialAnswer } from "../../api/types";
import { trialPath } from "../../app/paths";
import { Figure } from "../../parts/Figure";
import { Link } from "../../parts/Link";
import { Trouble } from "../../parts/Trouble";
import type { Ready } from "../../state/use_session";
import { type Key, t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import { TraceView } from "../../traces/TraceView";
import type { Correction } from "./correction";
import { CycleView } from "./CycleView";
import { ImpulseView } from "./ImpulseView";
import { ReadOff } from "./ReadOff";
import { StepView } from "./StepView";
import { summaryOf } from "./trace_words";
import { Lines, Moves } from "./TraceTools";

export type View = "time" | "cycles" | "steps" | "impulses" | "figure";

interface ViewsProps {
  readonly ready: Ready;
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
  readonly correction: Correction;
  readonly query: URLSearchParams;
}

const LABELS: Readonly<Record<View, Key>> = {
  time: "view.time", cycles: "view.cycles", steps: "view.steps", impulses: "view.impulses", figure: "view.figure",
};

/** The traces over time, or the view that the kind of trial asks for. */
export function Views(props: ViewsProps) {
  const { ready, trial, query } = props;
  const offered = viewsOf(ready, trial);
  const asked = query.get("show") as View | null;
  const shown = asked && offered.includes(asked) ? asked : (offered[0] ?? "time");
  const session = ready.answer.session.id;
  return (
    <section class="views" aria-label={t("trial.traces")}>
      <div class="views-head">
        {offered.length > 1 && (
          <nav class="choices-row" aria-label={t("view.label")}>
            {offered.map((view) => (
              <Link key={view} href={withView(trialPath(session, trial.id), view)} aria-current={view === shown ? "true" : undefined}>{t(LABELS[view])}</Link>
            ))}
          </nav>
        )}
        {shown === "time" && trial.samples > 0 && <Moves model={props.model} />}
      </div>
      <Shown {...props} view={shown} />
    </section>
  );
}

function withView(path: string, view: View): string {
  return view === "time" ? path : `${path}?show=${view}`;
}

function viewsOf({ answer }: Ready, trial: TrialAnswer): View[] {
  const views: View[] = [];
  if (trial.samples > 0 && trial.channels.length) views.push("time");
  if (trial.cycles.length) views.push("cycles");
  if (trial.changes.length) views.push("steps");
  if (trial.impulses > 0) views.push("impulses");
  if (answer.figures.some((figure) => figure.trial === trial.id)) views.push("figure");
  return views;
}

function Shown({ view, ...props }: ViewsProps & { readonly view: View }) {
  const { ready, trial } = props;
  const session = ready.answer.session.id;
  switch (view) {
    case "cycles":
      return <CycleView session={session} trial={trial} />;
    case "steps":
      return <StepView ready={ready} trial={trial} />;
    case "impulses":
      return <ImpulseView session={session} trial={trial} />;
    case "figure":
      return <Pictures {...props} />;
    default:
      return trial.samples > 0 ? <OverTime {...props} /> : <p class="nothing">{t("traces.none")}</p>;
  }
}

function OverTime({ ready, trial, model, correction }: ViewsProps) {
  const [error, setError] = useState<unknown>(null);
  const failed = (failure: unknown): void => {
    if (!(failure instanceof Lost)) setError(failure);
  };
  return (
    <>
      <Lines trial={trial} model={model} />
      <TraceView session={ready.answer.session.id} trial={trial} model={model} drawn={correction.drawn} failed={failed} summary={summaryOf(trial)} />
      <ReadOff trial={trial} model={model} drawn={correction.drawn} />
      <Trouble error={error} />
    </>
  );
}

function Pictures({ ready, trial }: ViewsProps) {
  const state = `${ready.document.software.edits_digest}`;
  const figures = ready.answer.figures.filter((figure) => figure.trial === trial.id);
  return <div class="pictures">{figures.map((entry) => <Figure key={entry.name} session={ready.answer.session.id} entry={entry} state={state} />)}</div>;
}
