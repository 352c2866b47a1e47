import { useId } from "preact/hooks";
import type { ImportAnswer, Told } from "../../api/further_types";
import { Field } from "../../parts/Field";
import { NumberInput } from "../../parts/NumberInput";
import { Unsure } from "../../parts/Unsure";
import type { Key } from "../../text/text";
import { t } from "../../text/text";
import { isUnsure, type Row, rowsOf, signsOf, withColumn, withRole } from "./description";
import type { ImportDesk } from "./import_desk";

interface ColumnsPartProps {
  readonly desk: ImportDesk;
  readonly told: Told;
  readonly answer: ImportAnswer;
}

/** Which column is what, in which unit and direction; those to look at are marked. */
export function ColumnsPart({ desk, told, answer }: ColumnsPartProps) {
  const rows = rowsOf(told.columns ?? [], answer.headers);
  const hasTime = told.columns?.some(({ role }) => role === "time");
  return (
    <section class="sheet" aria-labelledby="columns">
      <div class="sheet-head">
        <h2 id="columns">{t("columns.title")}</h2>
        <Maps desk={desk} answer={answer} />
      </div>
      <table class="columns">
        <caption class="unseen">{t("columns.title")}</caption>
        <thead>
          <tr>
            <th scope="col">{t("columns.column")}</th>
            <th scope="col">{t("columns.role")}</th>
            <th scope="col">{t("columns.unit")}</th>
            <th scope="col">{t("columns.positive")}</th>
          </tr>
        </thead>
        <tbody>{rows.map((row) => <Rows key={`${row.name} ${row.at ?? ""}`} row={row} desk={desk} answer={answer} />)}</tbody>
      </table>
      {!hasTime && (
        <Field label={t("columns.rate")} hint={t("columns.rate_hint")}>
          {(ids) => <NumberInput {...ids} value={told.sampling_hz} onNumber={(sampling_hz) => desk.change((now) => ({ ...now, sampling_hz }))} />}
        </Field>
      )}
    </section>
  );
}

/** The clinic's maps: one that fits, another one, or none. */
function Maps({ desk, answer }: { readonly desk: ImportDesk; readonly answer: ImportAnswer }) {
  const id = useId();
  if (!answer.maps.length) return null;
  return (
    <span class="inline-label">
      <label for={id}>{t("columns.map")}</label>{" "}
      <select id={id} value={answer.map_used ?? ""} onChange={(event) => void desk.useMap(event.currentTarget.value || null)}>
        <option value="">{t("columns.no_map")}</option>
        {answer.maps.map((name) => <option key={name} value={name}>{name}</option>)}
      </select>
    </span>
  );
}

interface RowsProps {
  readonly row: Row;
  readonly desk: ImportDesk;
  readonly answer: ImportAnswer;
}

function Rows({ row, desk, answer }: RowsProps) {
  const { column, at, name } = row;
  const units = answer.units[column?.role ?? ""] ?? [];
  const signs = signsOf(column?.role ?? "");
  const set = (part: Parameters<typeof withColumn>[2]): void => {
    if (at !== null) desk.change((now) => withColumn(now, at, part));
  };
  const missing = column !== null && units.length > 0 && !column.unit;
  return (
    <>
      <tr class={column ? "leads" : "unused leads"}>
        <th scope="row">{String(name)}</th>
        <td>
          <select aria-label={t("columns.role_of", { name: String(name) })} value={column?.role ?? ""}
            onChange={(event) => {
              const role = event.currentTarget.value;
              desk.change((now) => withRole(now, row, role, answer.headers, answer.units[role] ?? []));
            }}>
            <option value="">{t("columns.unused")}</option>
            {answer.roles.map((role) => <option key={role} value={role}>{roleWords(role)}</option>)}
          </select>
        </td>
        <td>
          {units.length > 0 && (
            <select aria-label={t("columns.unit_of", { name: String(name) })} aria-invalid={missing} value={column?.unit ?? ""} onChange={(event) => set({ unit: event.currentTarget.value || null })}>
              <option value="">–</option>
              {units.map((unit) => <option key={unit} value={unit}>{unit}</option>)}
            </select>
          )}
        </td>
        <td>
          {signs.length > 0 && (
            <select aria-label={t("columns.positive_of", { name: String(name) })} value={column?.positive ?? signs[0]} onChange={(event) => set({ positive: event.currentTarget.value as (typeof signs)[number] })}>
              {signs.map((sign) => <option key={sign} value={sign}>{t(`positive.${sign}`)}</option>)}
            </select>
          )}
        </td>
      </tr>
      <tr class="tail"><td colSpan={4}><Why row={row} set={set} scaled={units.length > 0} /></td></tr>
    </>
  );
}

interface WhyProps {
  readonly row: Row;
  readonly set: (part: Parameters<typeof withColumn>[2]) => void;
  readonly scaled: boolean;
}

function Why({ row: { column, name }, set, scaled }: WhyProps) {
  if (!column) return null;
  return (
    <>
      {isUnsure(column.confidence) && <Unsure />}{" "}
      <span class="hint">{(column.reasons ?? []).join("; ")}</span>
      {scaled && (
        <details open={column.scale != null || column.offset != null}>
          <summary>{t("columns.scale_title")}</summary>
          <span class="pair">
            <label>{t("columns.scale")} <NumberInput aria-label={t("columns.scale_of", { name: String(name) })} value={column.scale} onNumber={(scale) => set({ scale })} /></label>
            <label>{t("columns.offset")} <NumberInput aria-label={t("columns.offset_of", { name: String(name) })} value={column.offset} onNumber={(offset) => set({ offset })} /></label>
          </span>
        </details>
      )}
    </>
  );
}

/** A role in words; its code where the catalogue has none. */
function roleWords(role: string): string {
  const words = t(`role.${role}` as Key as "role.time");
  return words || role.replaceAll("_", " ");
}
