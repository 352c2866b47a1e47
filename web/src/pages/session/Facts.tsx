import type { Document, SessionAnswer } from "../../api/types";
import { day } from "../../format/date";
import { formatNumber } from "../../format/number";
import { readPath } from "../../app/paths";
import { Link } from "../../parts/Link";
import { t } from "../../text/text";

/** Patient and conditions in one line of small facts. */
export function Facts({ answer, document }: { readonly answer: SessionAnswer; readonly document: Document }) {
  const { session } = document;
  const facts: [string, string][] = session
    ? [
        [t("facts.patient"), session.patient.code],
        [t("facts.age"), session.patient.age_years === null ? t("facts.unknown") : t("facts.years", { count: session.patient.age_years })],
        [t("facts.sex"), session.patient.sex],
        [t("facts.date"), day(session.date)],
        ...Object.entries(session.conditions).map(([key, value]): [string, string] => condition(key, value)),
      ]
    : [];
  return (
    <dl class="facts">
      {facts.map(([name, value]) => <div key={name}><dt>{name}</dt><dd>{value}</dd></div>)}
      {answer.edits.count > 0 && (
        <div><dt>{t("facts.edits")}</dt><dd>{t("facts.edit_count", { count: holding(answer) })}</dd></div>
      )}
      {answer.versions.length > 0 && (
        <div><dt>{t("facts.versions")}</dt><dd><Link href={readPath(answer.session.id)}>{t("facts.version_count", { count: answer.versions.length })}</Link></dd></div>
      )}
    </dl>
  );
}

function holding(answer: SessionAnswer): number {
  return answer.edits.log.filter((edit) => edit.holds && edit.kind !== "take_back").length;
}

const UNITS: Readonly<Record<string, string>> = { deg: "deg", hz: "Hz", s: "s", c: "°C" };

/** A unit at the end of a key goes behind the value. */
function condition(key: string, value: unknown): [string, string] {
  const end = key.slice(key.lastIndexOf("_") + 1);
  const unit = key.includes("_") ? UNITS[end] : undefined;
  const name = (unit ? key.slice(0, key.lastIndexOf("_")) : key).replaceAll("_", " ");
  const shown = typeof value === "number" ? formatNumber(value) : String(value);
  return [name.charAt(0).toUpperCase() + name.slice(1), unit ? `${shown} ${unit}` : shown];
}
