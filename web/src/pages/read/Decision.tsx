import { useState } from "preact/hooks";
import type { DraftWish } from "../../api/calls";
import type { Statement } from "../../api/types";
import { Field } from "../../parts/Field";
import { ReasonField } from "../../parts/ReasonField";
import { decidedOn } from "../../state/decided";
import { accept, drop, reword } from "../../state/draft";
import { t } from "../../text/text";

interface DecisionProps {
  readonly statement: Statement;
  readonly name: string;
  readonly draft: DraftWish;
  readonly change: (change: (draft: DraftWish) => DraftWish) => void;
}

type Kind = "accept" | "reword" | "drop";

/** Accept, reword, or leave out with a reason. */
export function Decision({ statement, name, draft, change }: DecisionProps) {
  const kind = kindOf(draft, name);
  const decided = decidedOn(draft, { [name]: statement.text }, name);
  const [kept, setKept] = useState({ reword: statement.text, drop: "" });
  const choose = (next: Kind): void =>
    change((now) => (next === "accept" ? accept(now, name) : next === "reword" ? reword(now, name, kept.reword) : drop(now, name, kept.drop)));
  const typed = (what: "reword" | "drop", text: string): void => {
    setKept((before) => ({ ...before, [what]: text }));
    change((now) => (what === "reword" ? reword(now, name, text) : drop(now, name, text)));
  };
  return (
    <div class={`decision ${kind}`}>
      <fieldset class="radio-row">
        <legend class="unseen">{t("decision.on", { title: statement.title })}</legend>
        {(["accept", "reword", "drop"] as const).map((one) => (
          <label key={one}>
            <input type="radio" name={`decision-${name}`} checked={kind === one} onChange={() => choose(one)} />
            {t(`decision.${one}`)}
          </label>
        ))}
      </fieldset>
      {kind === "reword" && (
        <Field label={t("decision.own_words", { title: statement.title })} error={decided.kind === "reworded" ? undefined : t("decision.empty")}>
          {(ids) => <textarea {...ids} rows={4} value={draft.reworded[name]} onInput={(event) => typed("reword", event.currentTarget.value)} />}
        </Field>
      )}
      {kind === "drop" && <ReasonField value={draft.dropped[name] ?? ""} onInput={(text) => typed("drop", text)} error={decided.kind === "dropped" ? undefined : t("decision.no_reason")} />}
    </div>
  );
}

function kindOf(draft: DraftWish, name: string): Kind {
  if (name in draft.dropped) return "drop";
  return name in draft.reworded ? "reword" : "accept";
}
