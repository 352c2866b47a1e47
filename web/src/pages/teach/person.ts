/** The person of the bench: sliders, presets, and what to look at. Pure. */
import type { Person } from "../../api/further_calls";
import type { Key } from "../../text/text";

export const HEALTHY: Person = { right: 1, left: 1, compensated: 0, storage: 1, suppression: 0.95, alertness: 1, age_years: 30 };

export interface Slider {
  readonly name: keyof Person;
  readonly low: number;
  readonly high: number;
  readonly step: number;
  readonly decimals: number;
}

const share = (name: keyof Person): Slider => ({ name, low: 0, high: 1, step: 0.05, decimals: 2 });
export const SLIDERS: readonly Slider[] = [
  share("right"), share("left"), share("compensated"),
  { name: "storage", low: 0.1, high: 2, step: 0.05, decimals: 2 },
  share("suppression"), share("alertness"),
  { name: "age_years", low: 5, high: 100, step: 1, decimals: 0 },
];

export const PRESETS = {
  healthy: {},
  acute_right: { right: 0 },
  acute_left: { left: 0 },
  compensated: { right: 0, compensated: 1, storage: 0.5 },
  both: { right: 0.1, left: 0.1, storage: 0.4 },
  poor_suppression: { suppression: 0.3 },
  short_storage: { storage: 0.3 },
  long_storage: { storage: 1.8 },
  drowsy: { alertness: 0.2 },
} as const satisfies Record<string, Partial<Person>>;
export type Preset = keyof typeof PRESETS;

export function presetPerson(name: Preset, age_years: number): Person {
  return { ...HEALTHY, ...PRESETS[name], age_years };
}

export function isPreset(name: Preset, person: Person): boolean {
  const asked = presetPerson(name, person.age_years);
  return SLIDERS.every((slider) => asked[slider.name] === person[slider.name]);
}

const SMALL = 0.25;

/** What stands out most in this person, as keys of sentences; one at least. */
export function lookAt(person: Person): Key[] {
  const both = Math.max(person.right, person.left);
  const apart = Math.abs(person.right - person.left);
  const found: (readonly [boolean, Key])[] = [
    [both < 0.5, "look.both"],
    [both >= 0.5 && apart > SMALL && person.compensated < 0.5, "look.acute"],
    [both >= 0.5 && apart > SMALL && person.compensated >= 0.5, "look.compensated"],
    [person.suppression < 0.7, "look.suppression"],
    [person.storage < 0.7, "look.short"],
    [person.storage > 1.4, "look.long"],
    [person.alertness < 0.7, "look.drowsy"],
    [person.age_years > 70, "look.age"],
  ];
  const keys = found.filter(([holds]) => holds).map(([, key]) => key);
  return keys.length ? keys : ["look.healthy"];
}
