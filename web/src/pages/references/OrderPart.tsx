import { useEffect, useRef, useState } from "preact/hooks";
import { addReference, removeReference } from "../../api/further_calls";
import type { ReferencesAnswer } from "../../api/further_types";
import { announce } from "../../app/announce";
import { Trouble } from "../../parts/Trouble";
import { needWho } from "../../state/who";
import { t } from "../../text/text";
import { moved, ORDER_FILE, orderText } from "./order";

export interface ChangesProps {
  readonly answer: ReferencesAnswer;
  readonly changed: (answer: ReferencesAnswer) => void;
}

/** Which sets are tried first. What is named here is used whatever its mark. */
export function OrderPart({ answer, changed }: ChangesProps) {
  const [order, setOrder] = useState<readonly string[]>(answer.prefer);
  const [error, setError] = useState<unknown>(null);
  const [busy, setBusy] = useState(false);
  const list = useRef<HTMLOListElement>(null);
  useEffect(() => setOrder(answer.prefer), [answer]);
  const others = answer.sets.map(({ id }) => id).filter((id) => !order.includes(id));
  const same = order.join("\n") === answer.prefer.join("\n");
  const move = (at: number, by: -1 | 1): void => {
    setOrder(moved(order, at, by));
    announce(t("order.moved", { id: order[at] ?? "", place: at + by + 1 }));
    requestAnimationFrame(() => list.current?.children[at + by]?.querySelector("button")?.focus());
  };
  const save = async (): Promise<void> => {
    const by = await needWho();
    if (by === null) return;
    setBusy(true);
    try {
      changed(await kept(answer, order, by));
      announce(t("order.saved"));
      setError(null);
    } catch (failure) {
      setError(failure);
    }
    setBusy(false);
  };
  return (
    <section class="sheet" aria-labelledby="order">
      <h2 id="order">{t("order.title")}</h2>
      <p class="hint">{t("order.hint")}</p>
      {!order.length && <p class="nothing">{t("order.none")}</p>}
      <ol class="order" ref={list}>
        {order.map((id, at) => (
          <li key={id}>
            {id}{" "}
            <button type="button" class="quiet" disabled={at === 0} aria-label={t("order.up_this", { id })} onClick={() => move(at, -1)}>{t("order.up")}</button>
            <button type="button" class="quiet" disabled={at === order.length - 1} aria-label={t("order.down_this", { id })} onClick={() => move(at, 1)}>{t("order.down")}</button>
            <button type="button" class="quiet" aria-label={t("order.drop_this", { id })} onClick={() => setOrder(order.filter((one) => one !== id))}>{t("order.drop")}</button>
          </li>
        ))}
      </ol>
      <Trouble error={error} />
      <p class="actions">
        <select aria-label={t("order.add")} value="" onChange={(event) => setOrder([...order, event.currentTarget.value])}>
          <option value="">{t("order.add")}</option>
          {others.map((id) => <option key={id} value={id}>{id}</option>)}
        </select>
        <button type="button" class="main" disabled={same || busy} onClick={() => void save()}>{t("order.save")}</button>
      </p>
    </section>
  );
}

/** The order in place of the last; without any set the file goes. */
async function kept(answer: ReferencesAnswer, order: readonly string[], by: string): Promise<ReferencesAnswer> {
  let now = answer;
  if (answer.files.some(({ name }) => name === ORDER_FILE)) now = await removeReference(ORDER_FILE, by, t("order.reason"));
  return order.length ? addReference(ORDER_FILE, orderText(order), by) : now;
}
