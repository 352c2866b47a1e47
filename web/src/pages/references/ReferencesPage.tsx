import { useEffect, useState } from "preact/hooks";
import { references } from "../../api/further_calls";
import type { ReferencesAnswer } from "../../api/further_types";
import { connection } from "../../api/connection";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { useStore } from "../../state/store";
import { t } from "../../text/text";
import { AddPart } from "./AddPart";
import { FilesPart } from "./FilesPart";
import { IntervalsPart } from "./IntervalsPart";
import { OrderPart } from "./OrderPart";
import { SetCard } from "./SetCard";

/** Every reference set with where it comes from, the clinic's own, and which is preferred. */
export function ReferencesPage() {
  const [answer, setAnswer] = useState<ReferencesAnswer | null>(null);
  const [error, setError] = useState<unknown>(null);
  const connected = useStore(connection);
  const changed = (next: ReferencesAnswer): void => {
    setAnswer(next);
    setError(null);
  };
  useEffect(() => void references().then(changed, setError), [connected]);
  return (
    <>
      <PageHead title={t("references.title")} />
      <Trouble error={error} />
      {!answer && !error && <p class="waiting">{t("references.loading")}</p>}
      {answer && (
        <div class="references">
          <div class="column">
            <section class="sheet" aria-labelledby="sets">
              <h2 id="sets">{t("references.sets", { count: answer.sets.length })}</h2>
              <p class="hint">{t("references.sets_hint")}</p>
              {answer.sets.map((set) => <SetCard key={set.id} set={set} place={answer.prefer.indexOf(set.id)} />)}
            </section>
          </div>
          <div class="column">
            <OrderPart answer={answer} changed={changed} />
            <FilesPart answer={answer} changed={changed} />
            <AddPart changed={changed} />
          </div>
        </div>
      )}
      {answer && <IntervalsPart changed={changed} />}
    </>
  );
}
