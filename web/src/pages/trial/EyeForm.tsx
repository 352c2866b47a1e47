import { useState } from "preact/hooks";
import { t } from "../../text/text";
import { ChooseEye } from "./ChooseEye";
import type { CorrectProps } from "./CorrectPanel";

/** Which eye is used. */
export function EyeForm({ trial, correction }: CorrectProps) {
  const [eye, setEye] = useState(trial.eye);
  const sides = new Set(trial.channels.filter((channel) => channel.role === "eye").map((channel) => channel.side));
  if (sides.size < 2) return null;
  return (
    <section class="part" aria-labelledby="eye">
      <h2 id="eye">{t("eye.title")}</h2>
      <ChooseEye label={t("eye.used", { eye: t(`eye.${trial.eye as "right" | "left" | "both"}`) })} name="eye-used" value={eye} onChoose={setEye} />
      <button type="button" disabled={eye === trial.eye} onClick={() => correction.propose({ kind: "eye", trial: trial.id, values: { eye } })}>{t("eye.button")}</button>
    </section>
  );
}
