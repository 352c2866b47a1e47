import { useEffect, useMemo, useState } from "preact/hooks";
import { folded as readFolded } from "../../api/calls";
import type { Folded, TrialAnswer } from "../../api/types";
import { Trouble } from "../../parts/Trouble";
import { t } from "../../text/text";
import { type CurvePicture, type Curve, rangeOfCurves } from "../../traces/curve_plot";
import { CurveView } from "../../traces/CurveView";
import { pieceOf } from "../../traces/pieces";
import { channelOf, useWholes, type Whole } from "./use_window";

/** All cycles of a sinusoid over one another, by the phase of the chair. */
export function CycleView({ session, trial }: { readonly session: string; readonly trial: TrialAnswer }) {
  const [folded, setFolded] = useState<Folded | null>(null);
  const [failure, setFailure] = useState<unknown>(null);
  const { wholes, error } = useWholes(session, [trial.id], trial.traces);
  useEffect(() => {
    readFolded(session, trial.id).then(setFolded, setFailure);
  }, [session, trial.id, trial.traces]);
  const picture = useMemo(() => (folded && wholes ? pictureOf(folded, wholes[0]) : null), [folded, wholes]);
  if (failure || error) return <Trouble error={failure ?? error} />;
  if (!picture) return <p class="waiting">{t("trial.loading")}</p>;
  return (
    <figure class="overlay">
      <CurveView picture={picture} label={t("cycles.label", { trial: trial.id, count: trial.cycles.length })} />
      <figcaption>{t("cycles.caption", { count: trial.cycles.length })}</figcaption>
    </figure>
  );
}

function pictureOf(folded: Folded, whole: Whole | undefined): CurvePicture {
  const { phase_deg: x } = folded;
  const head: Curve = { x, y: folded.head_deg_s, colour: "faint", width: 1.4, dash: [2, 3], label: t("cycles.chair"), labelBelow: true };
  const fit: Curve = { x, y: folded.fit_deg_s, colour: "fit", width: 2.4, label: t("cycles.fit") };
  const middle: Curve = { x, y: folded.middle_deg_s, colour: "slow", width: 2, label: t("cycles.median"), labelBelow: true };
  const singles = whole ? singleCycles(whole) : [];
  const shown = [...singles, head, middle, fit];
  const ordinary = rangeOfCurves([{ y: [...folded.low_deg_s, ...folded.high_deg_s] }, head, fit], 10);
  return {
    xLabel: t("cycles.phase"),
    yLabel: t("cycles.speed"),
    xRange: [0, 360],
    xMarks: [0, 45, 90, 135, 180, 225, 270, 315, 360],
    yRange: ordinary,
    areas: [{ x, low: folded.low_deg_s, high: folded.high_deg_s, colour: "band" }],
    curves: shown,
  };
}

function singleCycles({ trial, window }: Whole): Curve[] {
  const median = channelOf(trial, "median");
  if (!median) return [];
  return trial.cycles.map((cycle) => {
    const length = cycle.stop_s - cycle.start_s;
    const piece = pieceOf(window, median, cycle, (at_s) => (360 * (at_s - cycle.start_s)) / length);
    return { ...piece, colour: "slow", width: 1, alpha: 0.4 };
  });
}
