/** A change in words: what was done, and what became of the numbers. */
import type { ChangedMeasure } from "../../api/types";
import { measureLabel, valueText, withInterval } from "../../format/measure";
import { NONE } from "../../format/number";
import type { Change } from "../../state/session";
import { t } from "../../text/text";

const SPOKEN = 3;

/** One sentence for the live region: the first numbers before and after, and how many more. */
export function changeSentence(change: Change): string {
  const { seen, unseen } = bySize(change.answer.changed);
  const told = seen.slice(0, SPOKEN).map(shortLine);
  const more = seen.length - told.length;
  const rest = more > 0 ? [t("change.more", { count: more })] : [];
  const numbers = seen.length ? `${[...told, ...rest].join("; ")}.` : t(unseen.length ? "change.nothing_seen" : "change.nothing");
  return `${t(`change.${change.what}_done`)} ${numbers}`;
}

/** What changes as it is shown, and what changes less than its last digit or only in its reasons. */
export function bySize(changed: readonly ChangedMeasure[]): { seen: ChangedMeasure[]; unseen: ChangedMeasure[] } {
  const isSeen = ({ before, after }: ChangedMeasure): boolean =>
    withInterval(before) !== withInterval(after) || before?.grade !== after?.grade;
  const moved = ({ before, after }: ChangedMeasure): number => (before && after && valueText(before) === valueText(after) ? 1 : 0);
  const seen = changed.filter(isSeen).sort((one, other) => moved(one) - moved(other));
  return { seen, unseen: changed.filter((one) => !isSeen(one)) };
}

function shortLine({ id, before, after }: ChangedMeasure): string {
  const known = after ?? before;
  const name = known ? measureLabel(known) : id;
  const same = before && after && valueText(before) === valueText(after);
  const told = same ? withInterval : (measure: ChangedMeasure["before"]) => (measure ? valueText(measure) : NONE);
  return t("change.line", { name, before: told(before), after: told(after) });
}
