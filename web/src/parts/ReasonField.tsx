import { useId } from "preact/hooks";
import { rememberedReasons } from "../state/reasons";
import { t } from "../text/text";
import { Field } from "./Field";

interface ReasonFieldProps {
  readonly value: string;
  readonly onInput: (text: string) => void;
  readonly recent?: readonly string[];
  readonly error?: string | undefined;
  readonly inputRef?: (element: HTMLInputElement | null) => void;
}

/** Why something is changed: always asked, with the reasons given before on offer. */
export function ReasonField({ value, onInput, recent = [], error, inputRef }: ReasonFieldProps) {
  const list = useId();
  const offered = [...new Set([...rememberedReasons(), ...recent])];
  return (
    <Field label={t("reason.label")} hint={t("reason.hint")} error={error}>
      {(ids) => (
        <>
          <input
            {...ids}
            ref={inputRef ?? null}
            type="text"
            required
            autocomplete="off"
            list={list}
            value={value}
            onInput={(event) => onInput(event.currentTarget.value)}
          />
          <datalist id={list}>
            {offered.map((text) => <option key={text} value={text} />)}
          </datalist>
        </>
      )}
    </Field>
  );
}
