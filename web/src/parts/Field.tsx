import type { ComponentChildren } from "preact";
import { useId } from "preact/hooks";

interface FieldProps {
  readonly label: string;
  readonly hint?: string | undefined;
  readonly error?: string | undefined;
  /** The control, given its id and the ids of what describes it. */
  readonly children: (ids: { readonly id: string; readonly "aria-describedby"?: string; readonly "aria-invalid"?: boolean }) => ComponentChildren;
  readonly inline?: boolean;
}

/** A control with its name, a hint, and what is wrong with what stands in it. */
export function Field({ label, hint, error, children, inline = false }: FieldProps) {
  const id = useId();
  const told = [hint ? `${id}-hint` : "", error ? `${id}-error` : ""].filter(Boolean).join(" ");
  return (
    <div class={inline ? "field inline" : "field"}>
      <label for={id}>{label}</label>
      {children({ id, ...(told ? { "aria-describedby": told } : {}), ...(error ? { "aria-invalid": true } : {}) })}
      {hint && <p class="hint" id={`${id}-hint`}>{hint}</p>}
      {error && <p class="field-error" id={`${id}-error`}>{error}</p>}
    </div>
  );
}
