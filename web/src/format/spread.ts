import { interval, quantity } from "./number";

interface Spread {
  readonly value: number | null;
  readonly low: number | null;
  readonly high: number | null;
  readonly unit: string;
}

/** A value with its interval, where there is one. */
export function withSpread({ value, low, high, unit }: Spread): string {
  const spread = interval(low, high, unit);
  return spread ? `${quantity(value, unit)} (${spread})` : quantity(value, unit);
}
