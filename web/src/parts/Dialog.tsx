import type { ComponentChildren } from "preact";
import { useEffect, useId, useRef } from "preact/hooks";
import { t } from "../text/text";

interface DialogProps {
  readonly title: string;
  readonly onClose: () => void;
  readonly children: ComponentChildren;
  readonly wide?: boolean;
}

/** A window over the page: holds the focus while it is open, gives it back after. */
export function Dialog({ title, onClose, children, wide = false }: DialogProps) {
  const element = useRef<HTMLDialogElement>(null);
  const heading = useId();
  useEffect(() => {
    const before = document.activeElement;
    element.current?.showModal();
    return () => {
      if (before instanceof HTMLElement) before.focus();
    };
  }, []);
  const cancel = (event: Event): void => {
    event.preventDefault();
    onClose();
  };
  return (
    <dialog ref={element} class={wide ? "dialog wide" : "dialog"} aria-labelledby={heading} onCancel={cancel}>
      <div class="dialog-head">
        <h2 id={heading}>{title}</h2>
        <button type="button" class="quiet" onClick={onClose} aria-label={t("dialog.close")}>
          <span aria-hidden="true">×</span>
        </button>
      </div>
      {children}
    </dialog>
  );
}
