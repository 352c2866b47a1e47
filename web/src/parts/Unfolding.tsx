import type { ComponentChildren } from "preact";
import { useState } from "preact/hooks";

/** Something that is made only when it is unfolded. */
export function Unfolding({ label, children }: { readonly label: string; readonly children: ComponentChildren }) {
  const [open, setOpen] = useState(false);
  return (
    <details open={open} onToggle={(event) => setOpen(event.currentTarget.open)}>
      <summary>{label}</summary>
      {open && children}
    </details>
  );
}
