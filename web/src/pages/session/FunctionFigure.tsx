import type { SessionAnswer } from "../../api/types";
import { fixed, quantity, NONE } from "../../format/number";
import { sideLetter } from "../../format/words";
import { MeasureLink } from "../../parts/EvidenceTable";
import { Figure } from "../../parts/Figure";
import { Unfolding } from "../../parts/Unfolding";
import { t } from "../../text/text";
import type { Seen } from "./seen";

/** Function across frequency, as the report draws it, and the same as numbers. */
export function FunctionFigure({ session, document, answer }: Seen & { readonly answer: SessionAnswer }) {
  const glance = answer.figures.find((figure) => figure.name === "front");
  const entry = answer.figures.find((figure) => figure.name === "overview");
  const steps = answer.figures.find((figure) => figure.name === "steps");
  const state = `${document.software.edits_digest}`;
  return (
    <section class="sheet" aria-labelledby="function">
      <h2 id="function">{t("function.title")}</h2>
      {glance && <Figure session={session} entry={glance} state={state} caption={false} />}
      {!glance && !entry && <p>{t("function.none")}</p>}
      {document.function.parts_ways.map((text) => <p key={text} class="prose">{text}</p>)}
      {entry && <Unfolding label={t("function.whole")}><Figure session={session} entry={entry} state={state} /></Unfolding>}
      <Points session={session} document={document} />
      {steps && <Unfolding label={t("function.steps")}><Figure session={session} entry={steps} state={state} /></Unfolding>}
    </section>
  );
}

function Points({ session, document }: Seen) {
  const { points } = document.function;
  if (!points.length) return null;
  return (
    <details>
      <summary>{t("function.numbers", { count: points.length })}</summary>
      <table>
        <caption class="unseen">{t("function.title")}</caption>
        <thead>
          <tr>
            <th scope="col" class="n">{t("function.frequency")}</th>
            <th scope="col">{t("function.side")}</th>
            <th scope="col">{t("function.measure")}</th>
            <th scope="col" class="n">{t("function.share")}</th>
            <th scope="col" class="n">{t("measure.interval")}</th>
          </tr>
        </thead>
        <tbody>
          {points.map((point) => (
            <tr key={point.measure + point.side}>
              <td class="n">{quantity(point.frequency_hz, "Hz")}</td>
              <td>{point.side ? t(point.exciting ? "function.exciting" : "function.of_side", { side: sideLetter(point.side) }) : t("function.both")}</td>
              <td><MeasureLink session={session} document={document} id={point.measure} /></td>
              <td class="n">{fixed(point.share, 2)}</td>
              <td class="n">{point.low === null ? NONE : `${fixed(point.low, 2)}–${fixed(point.high, 2)}`}</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="hint">{t("function.share_hint")}</p>
    </details>
  );
}
