import { day } from "../../format/date";
import { Field } from "../../parts/Field";
import { t } from "../../text/text";
import type { Numbered } from "./numbering";

type Chosen = readonly [number | null, number | null];

interface BetweenPartProps {
  readonly sessions: readonly Numbered[];
  readonly chosen: Chosen;
  readonly onChoose: (chosen: Chosen) => void;
}

/** Which two sessions are held against one another. */
export function BetweenPart({ sessions, chosen, onChoose }: BetweenPartProps) {
  const [one, other] = chosen;
  const options = (value: number | null, label: string, set: (value: number | null) => void) => (
    <Field label={label}>
      {(ids) => (
        <select {...ids} value={value === null ? "" : String(value)} onChange={(event) => set(event.currentTarget.value ? Number(event.currentTarget.value) : null)}>
          <option value="">{t("between.usual")}</option>
          {sessions.map(({ number, date }) => <option key={number} value={number}>{t("between.session", { number, date: day(date) })}</option>)}
        </select>
      )}
    </Field>
  );
  const half = (one === null) !== (other === null);
  return (
    <section class="sheet" aria-labelledby="between">
      <h2 id="between">{t("between.title")}</h2>
      <div class="pair">
        {options(one, t("between.earlier"), (value) => onChoose([value, other]))}
        {options(other, t("between.later"), (value) => onChoose([one, value]))}
      </div>
      <p class="hint" role="status">{half ? t("between.half") : one !== null && one === other ? t("between.same") : one === null ? t("between.usual_words") : ""}</p>
    </section>
  );
}
