import { reason } from "../state/about";

/** A reason in its sentence; unfolded it says what it does to the number. */
export function Why({ code }: { readonly code: string }) {
  const { text, effect } = reason(code);
  if (!effect) return <p class="why">{text}</p>;
  return (
    <details class="why">
      <summary>{text}</summary>
      <p>{effect}</p>
    </details>
  );
}
