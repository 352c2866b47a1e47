import { typedNumber } from "../../format/number";
import { Field } from "../../parts/Field";
import { useKept } from "../../state/use_kept";
import { t } from "../../text/text";
import { ChooseEye } from "./ChooseEye";
import type { CorrectProps } from "./CorrectPanel";

const PLANES = ["horizontal", "vertical", "torsional"] as const;
const START = { eye: "both", plane: "horizontal", gain: "1", offset: "0", everywhere: false };

/** Degrees of an eye: gain times what stands there less the offset. */
export function CalibrationForm({ trial, correction }: CorrectProps) {
  const [form, setForm] = useKept(`calibration.${trial.id}`, START);
  const gain = typedNumber(form.gain);
  const offset = typedNumber(form.offset || "0");
  const change = (part: Partial<typeof START>): void => setForm({ ...form, ...part });
  const propose = (): void =>
    correction.propose({ kind: "calibration", trial: form.everywhere ? null : trial.id, values: { eye: form.eye, plane: form.plane, gain, offset } });
  return (
    <details class="part">
      <summary>{t("calibration.title")}</summary>
      <p class="hint">{t("calibration.hint")}</p>
      <ChooseEye label={t("calibration.eye")} name="eye-calibrated" value={form.eye} onChoose={(eye) => change({ eye })} />
      <Field label={t("calibration.plane")}>
        {(ids) => (
          <select {...ids} value={form.plane} onChange={(event) => change({ plane: event.currentTarget.value })}>
            {PLANES.map((plane) => <option key={plane} value={plane}>{t(`plane.${plane}`)}</option>)}
          </select>
        )}
      </Field>
      <div class="pair">
        <Field label={t("calibration.gain")} error={gain === null || gain <= 0 ? t("calibration.gain_error") : undefined}>
          {(ids) => <input {...ids} type="text" inputMode="decimal" value={form.gain} onInput={(event) => change({ gain: event.currentTarget.value })} />}
        </Field>
        <Field label={t("calibration.offset")} error={offset === null ? t("interval.no_number") : undefined}>
          {(ids) => <input {...ids} type="text" inputMode="decimal" value={form.offset} onInput={(event) => change({ offset: event.currentTarget.value })} />}
        </Field>
      </div>
      <label class="check-line">
        <input type="checkbox" checked={form.everywhere} onChange={(event) => change({ everywhere: event.currentTarget.checked })} />
        {t("calibration.everywhere")}
      </label>
      <button type="button" disabled={gain === null || gain <= 0 || offset === null} onClick={propose}>{t("calibration.button")}</button>
    </details>
  );
}
