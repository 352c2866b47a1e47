import type { LessonMeasure } from "../../api/further_types";
import { numberOf, unitWords } from "../../format/number";
import { t } from "../../text/text";
import type { Lesson, Shown } from "./lesson_format";

/** Every number that a perfect estimator would return, healthy beside this person. */
export function NumbersPart({ person, healthy }: { readonly person: Lesson; readonly healthy: Lesson }) {
  return (
    <section class="sheet" aria-labelledby="teach-numbers">
      <h2 id="teach-numbers">{t("teach.numbers")}</h2>
      <table class="teach-numbers">
        <caption class="unseen">{t("teach.numbers_caption")}</caption>
        <thead>
          <tr>
            <th scope="col">{t("measure.name")}</th>
            <th scope="col" class="n">{t("teach.healthy_value")}</th>
            <th scope="col" class="n">{t("teach.person_value")}</th>
          </tr>
        </thead>
        {[...person.values()].map((shown) => <Rows key={shown.trial.id} shown={shown} healthy={healthy.get(shown.trial.id)} />)}
      </table>
    </section>
  );
}

function Rows({ shown, healthy }: { readonly shown: Shown; readonly healthy: Shown | undefined }) {
  const same = (measure: LessonMeasure): LessonMeasure | undefined =>
    healthy?.trial.measures.find(({ name, of }) => name === measure.name && of === measure.of);
  return (
    <tbody>
      <tr><th scope="rowgroup" colSpan={3} class="group">{shown.trial.title}</th></tr>
      {shown.trial.measures.map((measure) => {
        const other = numberOf(same(measure)?.value, measure.unit);
        const own = numberOf(measure.value, measure.unit);
        return (
          <tr key={`${measure.name} ${measure.of ?? ""}`}>
            <th scope="row">{measure.label}{unitWords(measure.unit) && <span class="source"> {unitWords(measure.unit)}</span>}</th>
            <td class="n">{other}</td>
            <td class="n">{own === other ? own : <b>{own}</b>}</td>
          </tr>
        );
      })}
    </tbody>
  );
}
