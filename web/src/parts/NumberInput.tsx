import { useEffect, useState } from "preact/hooks";
import { formatNumber, typedNumber } from "../format/number";

interface NumberInputProps {
  readonly id?: string;
  readonly "aria-label"?: string;
  readonly "aria-describedby"?: string;
  readonly value: number | null | undefined;
  /** A number, or null where the field is empty; never called for what is no number. */
  readonly onNumber: (value: number | null) => void;
  readonly disabled?: boolean;
}

/** A number that is taken while it is typed, with either decimal mark; what is typed is not rewritten. */
export function NumberInput({ value, onNumber, ...rest }: NumberInputProps) {
  const written = value === null || value === undefined ? "" : formatNumber(value);
  const [text, setText] = useState(written);
  const [typing, setTyping] = useState(false);
  useEffect(() => {
    if (!typing) setText(written);
  }, [written, typing]);
  const wrong = text.trim() !== "" && typedNumber(text) === null;
  const take = (next: string): void => {
    setTyping(true);
    setText(next);
    const number = typedNumber(next);
    if (number !== null || !next.trim()) onNumber(number);
  };
  return (
    <input {...rest} class="number" type="text" inputMode="decimal" autocomplete="off" value={text} aria-invalid={wrong}
      onInput={(event) => take(event.currentTarget.value)} onBlur={() => wrong || setTyping(false)} />
  );
}
