import { t } from "../../text/text";

const EYES = ["right", "left", "both"] as const;

interface ChooseEyeProps {
  readonly label: string;
  readonly name: string;
  readonly value: string;
  readonly onChoose: (eye: string) => void;
}

export function ChooseEye({ label, name, value, onChoose }: ChooseEyeProps) {
  return (
    <fieldset class="radio-row">
      <legend>{label}</legend>
      {EYES.map((eye) => (
        <label key={eye}>
          <input type="radio" name={name} checked={value === eye} onChange={() => onChoose(eye)} />
          {t(`eye.${eye}`)}
        </label>
      ))}
    </fieldset>
  );
}
