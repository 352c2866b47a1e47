import type { FigureEntry } from "../../api/types";
import { Figure } from "../../parts/Figure";
import { Unfolding } from "../../parts/Unfolding";
import { t } from "../../text/text";
import type { Seen } from "./seen";

const ELSEWHERE = /^(front|overview|steps|agreement-.*)$/;

/** The report's other figures of the whole session, drawn when they are unfolded. */
export function MoreFigures({ session, document, figures }: Seen & { readonly figures: readonly FigureEntry[] }) {
  const others = figures.filter((figure) => figure.trial === null && !ELSEWHERE.test(figure.name));
  if (!others.length) return null;
  return (
    <section class="sheet" aria-labelledby="figures">
      <h2 id="figures">{t("figures.title")}</h2>
      {others.map((entry) => (
        <Unfolding key={entry.name} label={entry.label}>
          <Figure session={session} entry={entry} state={`${document.software.edits_digest}`} />
        </Unfolding>
      ))}
    </section>
  );
}
