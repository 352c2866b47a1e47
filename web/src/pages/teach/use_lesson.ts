/** The lesson of a person: asked for while a slider moves, one call at a time, the last wish wins. */
import { useEffect, useRef, useState } from "preact/hooks";
import { type Person, teach } from "../../api/further_calls";
import { Latest } from "../../state/latest";
import { decodeLesson, type Lesson } from "./lesson_format";

export interface Taught {
  readonly lesson: Lesson | null;
  readonly error: unknown;
}

/** Each lesson that was drawn leaves a measure of this name, from the wish to the frame after it. */
export const DRAWN = "lesson drawn";

export function useLesson(person: Person): Taught {
  const [taught, setTaught] = useState<Taught>({ lesson: null, error: null });
  const asker = useRef<Latest<Person, ArrayBuffer> | null>(null);
  asker.current ??= new Latest(
    teach,
    (answer, _, begun_ms) => {
      setTaught({ lesson: decodeLesson(answer), error: null });
      requestAnimationFrame(() => setTimeout(() => performance.measure(DRAWN, { start: begun_ms, end: performance.now() })));
    },
    (error) => setTaught((before) => ({ ...before, error })),
  );
  useEffect(() => asker.current?.ask(person), [Object.values(person).join()]);
  return taught;
}
