import { trialPath } from "../app/paths";
import type { Document, Evidence } from "../api/types";
import { measureLabel } from "../format/measure";
import { measuresOf } from "../state/measures";
import { t } from "../text/text";
import { Link } from "./Link";

interface EvidenceProps {
  readonly session: string;
  readonly document: Document;
  readonly evidence: readonly Evidence[];
}

/** The numbers behind a statement; each leads to its trial and moment. */
export function EvidenceTable({ session, document, evidence }: EvidenceProps) {
  if (!evidence.length) return null;
  return (
    <table class="evidence">
      <caption class="unseen">{t("evidence.caption")}</caption>
      <thead>
        <tr>
          <th scope="col">{t("evidence.measure")}</th>
          <th scope="col">{t("evidence.shown")}</th>
          <th scope="col">{t("evidence.limit")}</th>
        </tr>
      </thead>
      <tbody>
        {evidence.map((item) => (
          <tr key={`${item.measure} ${item.limit}`}>
            <td><MeasureLink session={session} document={document} id={item.measure} /></td>
            <td>{item.shown}</td>
            <td>{item.limit}{item.source && <span class="source"> {item.source}</span>}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}

/** A measure by trial and name, leading to where it was measured. */
export function MeasureLink({ session, document, id }: { readonly session: string; readonly document: Document; readonly id: string }) {
  const placed = measuresOf(document).get(id);
  const trial = placed?.trials[0];
  if (!placed || trial === undefined) return <span>{id}</span>;
  return (
    <Link href={trialPath(session, trial, { measure: id })}>
      {placed.trials.join(" ~ ")}: {measureLabel(placed.measure)}
    </Link>
  );
}
