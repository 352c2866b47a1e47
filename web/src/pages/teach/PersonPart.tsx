import { useId } from "preact/hooks";
import type { Person } from "../../api/further_calls";
import { fixed } from "../../format/number";
import { t } from "../../text/text";
import { isPreset, PRESETS, type Preset, presetPerson, type Slider, SLIDERS } from "./person";

interface PersonPartProps {
  readonly person: Person;
  readonly onChange: (person: Person) => void;
}

/** The sliders, and people to start from. */
export function PersonPart({ person, onChange }: PersonPartProps) {
  return (
    <section class="sheet" aria-labelledby="person">
      <h2 id="person">{t("teach.person")}</h2>
      <fieldset class="presets">
        <legend>{t("teach.presets")}</legend>
        {(Object.keys(PRESETS) as Preset[]).map((name) => (
          <button key={name} type="button" aria-pressed={isPreset(name, person)} onClick={() => onChange(presetPerson(name, person.age_years))}>{t(`preset.${name}`)}</button>
        ))}
      </fieldset>
      {SLIDERS.map((slider) => (
        <SliderRow key={slider.name} slider={slider} value={person[slider.name]} onValue={(value) => onChange({ ...person, [slider.name]: value })} />
      ))}
    </section>
  );
}

interface SliderRowProps {
  readonly slider: Slider;
  readonly value: number;
  readonly onValue: (value: number) => void;
}

function SliderRow({ slider, value, onValue }: SliderRowProps) {
  const id = useId();
  const { name, low, high, step, decimals } = slider;
  const shown = fixed(value, decimals);
  return (
    <div class="slider">
      <label for={id}>{t(`slider.${name}`)}</label>
      <output for={id}>{shown}</output>
      <input id={id} type="range" min={low} max={high} step={step} value={value} aria-valuetext={t("teach.slider_value", { value: shown, high: fixed(high, decimals) })}
        aria-describedby={`${id}-ends`} onInput={(event) => onValue(Number(event.currentTarget.value))} />
      <span id={`${id}-ends`} class="hint">{t(`slider.${name}_ends`)}</span>
    </div>
  );
}
