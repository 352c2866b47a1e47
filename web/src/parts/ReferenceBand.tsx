import type { Measure, Placement } from "../api/types";
import { limitsText, outsideText, placeText } from "../format/measure";
import { t } from "../text/text";

const [WIDTH, HEIGHT] = [96, 18];

interface Ends {
  readonly low: number;
  readonly high: number;
}

/** A measure among the healthy: band from limit to limit, its middle half darker, value and interval over it. */
export function ReferenceBand({ measure, placement }: { readonly measure: Measure; readonly placement: Placement }) {
  const ends = endsOf(measure, placement);
  const label = [placeText(placement), limitsText(placement, measure.unit), outsideText(placement)].filter(Boolean).join("; ");
  if (!ends || measure.value === null) return null;
  const x = (value: number): number => Math.min(Math.max(((value - ends.low) / (ends.high - ends.low)) * WIDTH, 1), WIDTH - 1);
  const [first, , third] = placement.quartiles ?? [];
  return (
    <svg class="band" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={t("band.label", { place: label })}>
      <Stretch from={x(placement.lower ?? ends.low)} to={x(placement.upper ?? ends.high)} kind="band-all" open={!!placement.unstated.length} />
      {first !== undefined && third !== undefined && <Stretch from={x(first)} to={x(third)} kind="band-core" open={false} />}
      <path class="band-axis" d={`M0 ${HEIGHT - 3}H${WIDTH}`} />
      {measure.low !== null && measure.high !== null && <path class="band-interval" d={`M${x(measure.low)} ${HEIGHT / 2}H${x(measure.high)}`} />}
      <path class="band-value" d={`M${x(measure.value)} 2V${HEIGHT - 3}`} />
    </svg>
  );
}

function Stretch({ from, to, kind, open }: { readonly from: number; readonly to: number; readonly kind: string; readonly open: boolean }) {
  return <rect class={open ? `${kind} open` : kind} x={from} width={Math.max(to - from, 1)} y="4" height={HEIGHT - 7} />;
}

/** Room beyond the ends, and beyond a limit that is open to one side. */
const [ROOM, OPEN] = [0.12, 0.55];

/** The axis: what the reference spans, and the value with its interval, with room at both ends. */
function endsOf(measure: Measure, placement: Placement): Ends | null {
  const shown = [placement.lower, placement.upper, measure.value, measure.low, measure.high, ...(placement.quartiles ?? [])];
  const known = shown.filter((value): value is number => value !== null);
  const [low, high] = [Math.min(...known), Math.max(...known)];
  if (!Number.isFinite(low) || !Number.isFinite(high)) return null;
  const span = high - low || Math.abs(high) || 1;
  const below = placement.lower === null ? OPEN : ROOM;
  const above = placement.upper === null ? OPEN : ROOM;
  return { low: low - below * span, high: high + above * span };
}
