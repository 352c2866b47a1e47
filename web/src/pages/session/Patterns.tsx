import type { Pattern } from "../../api/types";
import { chance } from "../../format/words";
import { EvidenceTable } from "../../parts/EvidenceTable";
import { NotShown } from "../../parts/StatementCard";
import { t } from "../../text/text";
import type { Seen } from "./seen";

const STRENGTHS = { firm: "strength.firm", moderate: "strength.moderate", weak: "strength.weak" } as const;
type Weighed = Pattern["for"][number];

/** Patterns that the signs make, the nearest first; none is a diagnosis. */
export function Patterns({ session, document }: Seen) {
  const { told, ranking } = document.patterns;
  const [nearest, ...others] = ranking;
  return (
    <section class="sheet" aria-labelledby="patterns">
      <h2 id="patterns">{t("patterns.title")}</h2>
      {!nearest && <p>{t("patterns.none")}</p>}
      {nearest && !told && <p>{t("patterns.not_told")}</p>}
      {nearest && <One session={session} document={document} pattern={nearest} open={told} />}
      {others.map((pattern) => <One key={pattern.code + pattern.variant} session={session} document={document} pattern={pattern} open={false} />)}
      <p class="hint">{t("patterns.weight")}</p>
    </section>
  );
}

function One({ session, document, pattern, open }: Seen & { readonly pattern: Pattern; readonly open: boolean }) {
  return (
    <details class="pattern" open={open}>
      <summary>
        <b>{pattern.title}</b>{" "}
        <span class="strength">{t("patterns.strength", { strength: t(STRENGTHS[pattern.strength]), weight: chance(pattern.share) })}</span>
      </summary>
      <p class="prose">{pattern.text}</p>
      {pattern.cautions.map((caution) => <p key={caution} class="caution-line"><b>{t("statement.caution")}</b> {caution}</p>)}
      <Signs session={session} document={document} title={t("patterns.for")} signs={pattern.for} />
      <Signs session={session} document={document} title={t("patterns.against")} signs={pattern.against} />
      {pattern.open.length > 0 && <p class="small"><b>{t("patterns.open")}</b> {pattern.open.join(", ")}.</p>}
      {pattern.told_apart && <p class="small">{pattern.told_apart}</p>}
      <NotShown lines={pattern.does_not_show} />
    </details>
  );
}

function Signs({ session, document, title, signs }: Seen & { readonly title: string; readonly signs: readonly Weighed[] }) {
  if (!signs.length) return null;
  return (
    <>
      <p class="minor">{title}</p>
      <ul class="signs">
        {signs.map((sign) => (
          <li key={sign.sign}>
            <details>
              <summary>{sign.title}{sign.chance !== null && sign.chance < 0.99 && <span class="strength"> {t("patterns.chance", { chance: chance(sign.chance) })}</span>}</summary>
              <EvidenceTable session={session} document={document} evidence={sign.evidence} />
            </details>
          </li>
        ))}
      </ul>
    </>
  );
}
