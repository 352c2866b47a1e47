import { useEffect, useMemo, useState } from "preact/hooks";
import { impulses as readImpulses } from "../../api/calls";
import type { Impulses, ImpulseEntry, TrialAnswer } from "../../api/types";
import { fixed, NONE, quantity } from "../../format/number";
import { sideLetter } from "../../format/words";
import { Trouble } from "../../parts/Trouble";
import { reason } from "../../state/about";
import { t } from "../../text/text";
import { type Curve, type CurvePicture, rangeOfCurves } from "../../traces/curve_plot";
import { CurveView } from "../../traces/CurveView";

const SIDES = ["left", "right"] as const;

/** Head and eye of every impulse since the head's start: left ear left, right ear right. */
export function ImpulseView({ session, trial }: { readonly session: string; readonly trial: TrialAnswer }) {
  const [found, setFound] = useState<Impulses | null>(null);
  const [error, setError] = useState<unknown>(null);
  useEffect(() => {
    readImpulses(session, trial.id).then(setFound, setError);
  }, [session, trial.id, trial.traces]);
  const pictures = useMemo(() => found && picturesOf(found.impulses), [found]);
  if (error) return <Trouble error={error} />;
  if (!found || !pictures) return <p class="waiting">{t("trial.loading")}</p>;
  return (
    <div class="impulses">
      <div class="two">
        {SIDES.map((side, index) => {
          const picture = pictures[index];
          const here = found.impulses.filter((one) => one.side === side);
          return (
            <figure key={side} class="overlay">
              <figcaption><b>{sideLetter(side)}</b> {t("impulses.count", { count: here.length, refused: here.filter((one) => one.refused.length).length })}</figcaption>
              {picture && <CurveView picture={picture} label={t("impulses.label", { side: sideLetter(side), count: here.length })} />}
            </figure>
          );
        })}
      </div>
      <p class="hint">{t("impulses.caption")}</p>
      <Table impulses={found.impulses} />
    </div>
  );
}

/** Both sides on the same axes, so that they can be compared. */
function picturesOf(impulses: readonly ImpulseEntry[]): CurvePicture[] {
  const curves = SIDES.map((side) => curvesOf(impulses.filter((one) => one.side === side)));
  const ends = impulses.flatMap((impulse) => [impulse.since_s[0] ?? 0, impulse.since_s.at(-1) ?? 0]);
  const shared = {
    xLabel: t("impulses.since"),
    yLabel: t("impulses.speed"),
    xRange: [Math.min(0, ...ends), Math.max(0.1, ...ends)] as const,
    yRange: rangeOfCurves(curves.flat(), 100),
  };
  return curves.map((of) => ({ ...shared, curves: of }));
}

function curvesOf(impulses: readonly ImpulseEntry[]): Curve[] {
  return impulses.flatMap((impulse): Curve[] => {
    const alpha = impulse.refused.length ? 0.18 : 0.7;
    return [
      { x: impulse.since_s, y: impulse.head_deg_s, colour: "faint", width: 1, alpha },
      { x: impulse.since_s, y: impulse.eye_deg_s, colour: "slow", width: 1.2, alpha },
    ];
  });
}

function Table({ impulses }: { readonly impulses: readonly ImpulseEntry[] }) {
  return (
    <details>
      <summary>{t("impulses.list", { count: impulses.length })}</summary>
      <table>
        <caption class="unseen">{t("impulses.caption")}</caption>
        <thead>
          <tr>
            <th scope="col" class="n">{t("impulses.number")}</th>
            <th scope="col">{t("impulses.canal")}</th>
            <th scope="col" class="n">{t("impulses.head")}</th>
            <th scope="col" class="n">{t("impulses.gain")}</th>
            <th scope="col">{t("impulses.saccades")}</th>
          </tr>
        </thead>
        <tbody>
          {impulses.map((one) => (
            <tr key={one.number} class={one.refused.length ? "unusable" : undefined}>
              <td class="n">{one.number}</td>
              <td>{one.canal}</td>
              <td class="n">{quantity(one.peak_deg_s, "deg/s")}</td>
              <td class="n">{fixed(one.gain, 2)}</td>
              <td>{one.refused.length ? one.refused.map((code) => reason(code).text).join(" ") : saccades(one)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </details>
  );
}

function saccades({ saccades: found }: ImpulseEntry): string {
  if (!found.length) return NONE;
  return found.map((one) => t(one.early ? "impulses.early" : "impulses.late", { at: fixed(1000 * one.onset_s, 0), size: fixed(one.amplitude_deg, 1) })).join("; ");
}
