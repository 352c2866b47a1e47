import type { Measure } from "../api/types";
import { aboutRecording, intervalText, limitsText, measureLabel, outsideText, placeText, setName, valueText } from "../format/measure";
import { NONE } from "../format/number";
import { reason } from "../state/about";
import { t } from "../text/text";
import { GradeMark } from "./GradeMark";
import { ReferenceBand } from "./ReferenceBand";

interface MeasureTableProps {
  readonly caption: string;
  readonly measures: readonly Measure[];
  /** Reasons that are told once above the table. */
  readonly shared?: readonly string[];
  readonly marked?: string | null;
}

/** Measures with interval, grade, place among the healthy and every reason in words. */
export function MeasureTable({ caption, measures, shared = [], marked = null }: MeasureTableProps) {
  return (
    <table class="measures">
      <caption class="unseen">{caption}</caption>
      <thead>
        <tr>
          <th scope="col">{t("measure.name")}</th>
          <th scope="col" class="n">{t("measure.value_interval")}</th>
          <th scope="col">{t("measure.grade")}</th>
        </tr>
      </thead>
      <tbody>
        {measures.map((measure) => <Rows key={measure.id} measure={measure} shared={shared} marked={measure.id === marked} />)}
      </tbody>
    </table>
  );
}

interface RowsProps {
  readonly measure: Measure;
  readonly shared: readonly string[];
  readonly marked: boolean;
}

function Rows({ measure, shared, marked }: RowsProps) {
  const why = measure.why.filter((code) => !shared.includes(code));
  const tells = why.length > 0 || measure.placement !== null;
  const spread = intervalText(measure);
  const graded = measure.grade !== "sound" || !aboutRecording(measure);
  const name = `row ${measure.grade}${marked ? " marked" : ""}${tells ? " leads" : ""}`;
  return (
    <>
      <tr class={name} data-measure={measure.id} data-value={measure.value ?? ""}>
        <th scope="row">{measureLabel(measure)}</th>
        <td class="n" title={measure.value === null ? undefined : String(measure.value)}>
          <b>{valueText(measure)}</b>
          {spread !== NONE && <span class="spread">{spread}</span>}
        </td>
        <td>{graded && <GradeMark grade={measure.grade} />}</td>
      </tr>
      {tells && (
        <tr class={`tail ${measure.grade}${marked ? " marked" : ""}`}>
          <td colSpan={3}>
            <Place measure={measure} />
            {why.map((code) => <span key={code} class="why" title={reason(code).effect}>{reason(code).text}</span>)}
          </td>
        </tr>
      )}
    </>
  );
}

function Place({ measure }: { readonly measure: Measure }) {
  const { placement } = measure;
  if (!placement || measure.value === null) return null;
  const told = [placeText(placement), limitsText(placement, measure.unit), outsideText(placement)].filter(Boolean);
  return (
    <span class="place">
      <ReferenceBand measure={measure} placement={placement} />
      <span>{told.join("; ")} <span class="source" title={placement.note}>{setName(placement)}</span></span>
    </span>
  );
}
