import type { Grade } from "../api/types";
import { t } from "../text/text";

const NAMES = { sound: "grade.sound", caution: "grade.caution", unusable: "grade.unusable" } as const;

/** A grade by shape and word: full disc, half diamond, struck square. */
export function GradeMark({ grade, word = true }: { readonly grade: Grade; readonly word?: boolean }) {
  const name = t(NAMES[grade]);
  return (
    <span class={`grade ${grade}`}>
      <svg viewBox="0 0 12 12" class="grade-shape" role={word ? undefined : "img"} aria-hidden={word} aria-label={word ? undefined : name}>
        <Shape grade={grade} />
      </svg>
      {word && <span>{name}</span>}
    </span>
  );
}

function Shape({ grade }: { readonly grade: Grade }) {
  if (grade === "sound") return <circle cx="6" cy="6" r="4.2" fill="currentColor" />;
  if (grade === "caution") {
    return (
      <>
        <path d="M6 .8 11.2 6 6 11.2.8 6Z" fill="none" stroke="currentColor" stroke-width="1.3" />
        <path d="M6 .8V11.2L.8 6Z" fill="currentColor" />
      </>
    );
  }
  return <path d="M1.5 1.5h9v9h-9ZM1.5 10.5l9-9" fill="none" stroke="currentColor" stroke-width="1.3" />;
}

/** How many measures carry each grade, in words. */
export function GradeCounts({ counts }: { readonly counts: Readonly<Record<Grade, number>> }) {
  return (
    <span class="grade-counts">
      {(["sound", "caution", "unusable"] as const).map((grade) => (
        <span key={grade} class={`grade ${grade}`}>
          <svg viewBox="0 0 12 12" class="grade-shape" aria-hidden="true"><Shape grade={grade} /></svg>
          <span>{t("grade.counted", { count: counts[grade], grade: t(NAMES[grade]) })}</span>
        </span>
      ))}
    </span>
  );
}
