import type { ReferenceSet } from "../../api/further_types";
import { word } from "../../state/about";
import { Unfolding } from "../../parts/Unfolding";
import { t } from "../../text/text";

/** One set: where it comes from, whom it describes, how it is known, and every value. */
export function SetCard({ set, place }: { readonly set: ReferenceSet; readonly place: number }) {
  const apart = set.entries.filter((entry) => entry.not_placed).length;
  return (
    <article class="set" aria-label={set.id}>
      <h3>{set.id} {set.own && <span class="verdict">{t("references.own")}</span>} {place >= 0 && <span class="verdict">{t("references.preferred", { place: place + 1 })}</span>}</h3>
      <dl>
        <dt>{t("references.source")}</dt><dd>{set.source}</dd>
        <dt>{t("references.population")}</dt><dd>{set.population}</dd>
        <dt>{t("references.mark")}</dt><dd>{set.mark_words}</dd>
      </dl>
      <Unfolding label={t(apart ? "references.values_apart" : "references.values", { count: set.entries.length, apart })}><Values set={set} /></Unfolding>
    </article>
  );
}

function Values({ set }: { readonly set: ReferenceSet }) {
  return (
    <table>
      <caption class="unseen">{t("references.values_of", { id: set.id })}</caption>
      <thead>
        <tr>
          <th scope="col">{t("measure.name")}</th>
          <th scope="col">{t("references.stimulus")}</th>
          <th scope="col">{t("references.value")}</th>
          <th scope="col" class="n">{t("references.n")}</th>
        </tr>
      </thead>
      <tbody>
        {set.entries.map((entry, index) => (
          <tr key={index}>
            <th scope="row">{entry.label}{entry.of && ` ${word("of", entry.of)}`}<span class="under">{word("kind", entry.kind)}</span></th>
            <td>{entry.stimulus}</td>
            <td>
              {entry.values}
              {entry.note && <span class="under">{entry.note}</span>}
              {entry.not_placed && <span class="under"><strong>{t("references.not_placed")}</strong> {entry.not_placed}</span>}
            </td>
            <td class="n">{entry.n ?? "–"}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
