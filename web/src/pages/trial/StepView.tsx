import { useMemo, useState } from "preact/hooks";
import type { TrialAnswer } from "../../api/types";
import { sideLetter } from "../../format/words";
import { Trouble } from "../../parts/Trouble";
import { word } from "../../state/about";
import type { Ready } from "../../state/use_session";
import { t } from "../../text/text";
import { type Curve, type CurvePicture, rangeOfCurves } from "../../traces/curve_plot";
import { CurveView } from "../../traces/CurveView";
import { pieceOf } from "../../traces/pieces";
import { channelOf, useWholes, type Whole } from "./use_window";

const SHOWN_S = 60;
const DASHED = [7, 4];

/** Responses to each change of chair velocity on one axis of time since it, both directions overlaid. */
export function StepView({ ready, trial }: { readonly ready: Ready; readonly trial: TrialAnswer }) {
  const [all, setAll] = useState(true);
  const steps = ready.document.trials.filter((one) => one.kind === "step").map((one) => one.id);
  const ids = all ? [trial.id, ...steps.filter((id) => id !== trial.id)] : [trial.id];
  const state = `${ready.document.software.edits_digest}`;
  const { wholes, error } = useWholes(ready.answer.session.id, ids, state);
  const picture = useMemo(() => wholes && pictureOf(wholes, wholes.length > 1), [wholes]);
  if (error) return <Trouble error={error} />;
  return (
    <figure class="overlay">
      {steps.length > 1 && (
        <label class="check-line"><input type="checkbox" checked={all} onChange={(event) => setAll(event.currentTarget.checked)} />{t("steps.all")}</label>
      )}
      {picture ? <CurveView picture={picture} label={t("steps.label", { trials: ids.join(", ") })} /> : <p class="waiting">{t("trial.loading")}</p>}
      <figcaption>{t("steps.caption")}</figcaption>
    </figure>
  );
}

function pictureOf(wholes: readonly Whole[], named: boolean): CurvePicture {
  const curves = wholes.flatMap((whole) => curvesOf(whole, named));
  const longest = Math.max(0, ...curves.map((curve) => curve.x.at(-1) ?? 0));
  return {
    xLabel: t("steps.since"),
    yLabel: t("steps.against"),
    xRange: [0, Math.min(longest, SHOWN_S) || 1],
    yRange: rangeOfCurves(curves, 20),
    curves,
  };
}

/** R full, L dashed; the slow phase is shown against the change, so that both go the same way. */
function curvesOf({ trial, window }: Whole, named: boolean): Curve[] {
  const [median, fit] = [channelOf(trial, "median"), channelOf(trial, "fit")];
  return trial.changes.flatMap((change, index) => {
    const stop_s = Math.min(trial.changes[index + 1]?.at_s ?? trial.stop_s, change.at_s + SHOWN_S);
    const span = { start_s: change.at_s, stop_s };
    const factor = change.exciting === "right" ? -1 : 1;
    const dash = change.exciting === "right" ? {} : { dash: DASHED };
    const piece = (channel: string) => pieceOf(window, channel, span, (at_s) => at_s - change.at_s, factor);
    const label = [sideLetter(change.exciting), word("of", change.of), ...(named ? ["·", trial.id] : [])].join(" ");
    return [
      ...(median ? [{ ...piece(median), colour: "slow" as const, width: 1, alpha: 0.8, ...dash }] : []),
      ...(fit ? [{ ...piece(fit), colour: "fit" as const, width: 2, label, labelBelow: change.exciting === "right", ...dash }] : []),
    ];
  });
}
