import { day } from "../format/date";
import { chooseWriting, DATE_CHOICES, NUMBER_CHOICES, writing } from "../format/locale";
import { fixed } from "../format/number";
import { Dialog } from "../parts/Dialog";
import { Field } from "../parts/Field";
import { singleKeys, setSingleKeys } from "../state/single_keys";
import { useStore } from "../state/store";
import { t } from "../text/text";

const EXAMPLE = { date: "2026-03-02", number: 1.5 };

/** How numbers and dates are written, and whether single keys act. */
export function SettingsDialog({ onClose }: { readonly onClose: () => void }) {
  const now = useStore(writing);
  const keys = useStore(singleKeys);
  return (
    <Dialog title={t("settings.title")} onClose={onClose}>
      <Field label={t("settings.numbers")}>
        {(ids) => (
          <select {...ids} value={now.numbers} onChange={(event) => chooseWriting({ ...now, numbers: event.currentTarget.value })}>
            {NUMBER_CHOICES.map((tag) => <option key={tag} value={tag}>{named(tag, inLocale(tag, "number"))}</option>)}
          </select>
        )}
      </Field>
      <Field label={t("settings.dates")}>
        {(ids) => (
          <select {...ids} value={now.dates} onChange={(event) => chooseWriting({ ...now, dates: event.currentTarget.value })}>
            {DATE_CHOICES.map((tag) => <option key={tag} value={tag}>{named(tag, inLocale(tag, "date"))}</option>)}
          </select>
        )}
      </Field>
      <p class="hint">{t("settings.now", { number: fixed(EXAMPLE.number, 1), date: day(EXAMPLE.date) })}</p>
      <div class="check">
        <input id="single-keys" type="checkbox" checked={keys} onChange={(event) => setSingleKeys(event.currentTarget.checked)} />
        <label for="single-keys">{t("settings.single_keys")}</label>
      </div>
      <p class="actions"><button type="button" class="main" onClick={onClose}>{t("dialog.done")}</button></p>
    </Dialog>
  );
}

function named(tag: string, example: string): string {
  return tag === "system" ? t("settings.system", { example }) : example;
}

function inLocale(tag: string, what: "number" | "date"): string {
  const locale = tag === "system" ? undefined : tag;
  if (what === "number") return new Intl.NumberFormat(locale, { minimumFractionDigits: 1 }).format(EXAMPLE.number);
  return new Intl.DateTimeFormat(locale, { dateStyle: "medium", timeZone: "UTC" }).format(new Date(EXAMPLE.date));
}
