import type { Measure } from "../api/types";
import { aboutRecording, intervalText, limitsText, measureLabel, outsideText, placeText, setName, sourceText, valueText } from "../format/measure";
import { NONE } from "../format/number";
import { t } from "../text/text";
import { GradeMark } from "./GradeMark";
import { ReferenceBand } from "./ReferenceBand";
import { Why } from "./Why";

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
            {why.map((code) => <Why key={code} code={code} />)}
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
    <div class="place">
      <ReferenceBand measure={measure} placement={placement} />
      <div>
        {told.join("; ")}
        <details>
          <summary>{setName(placement)}</summary>
          <p>{sourceText(placement)}</p>
          {placement.note && <p>{placement.note}</p>}
          {placement.unstated.length > 0 && <p>{t("place.unstated", { what: placement.unstated.join(", ") })}</p>}
        </details>
      </div>
    </div>
  );
}
