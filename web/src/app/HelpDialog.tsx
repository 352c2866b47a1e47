import { useEffect } from "preact/hooks";
import { Dialog } from "../parts/Dialog";
import { Store, useStore } from "../state/store";
import { t } from "../text/text";
import { KEYS } from "./keys";

export const helpShown = new Store(false);

/** Every key, in words; `?` opens it anywhere but in a field. */
export function HelpDialog() {
  const shown = useStore(helpShown);
  useEffect(() => {
    const open = (event: KeyboardEvent): void => {
      if (event.key === "?" && !isTyping(event.target) && !event.ctrlKey && !event.metaKey) helpShown.set(true);
    };
    addEventListener("keydown", open);
    return () => removeEventListener("keydown", open);
  }, []);
  if (!shown) return null;
  return (
    <Dialog title={t("help.title")} wide onClose={() => helpShown.set(false)}>
      <p class="hint">{t("help.where")}</p>
      <div class="keys">
        {KEYS.map(({ title, keys }) => (
          <section key={title}>
            <h3>{t(title)}</h3>
            <dl>
              {keys.map(({ names, word, does }) => (
                <div key={does}>
                  <dt>{names.map((name) => <kbd key={name}>{name}</kbd>)}{word && <span>{t(word)}</span>}</dt>
                  <dd>{t(does)}</dd>
                </div>
              ))}
            </dl>
          </section>
        ))}
      </div>
    </Dialog>
  );
}

/** Whether the focus is where letters are typed. */
export function isTyping(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false;
  if (target instanceof HTMLInputElement) return !["checkbox", "radio", "button"].includes(target.type);
  return target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement || target.isContentEditable;
}
