/** The keys and what they do, for the help; `pages/trial/keys.ts` does it. */
import type { Key } from "../text/text";

export interface KeyHelp {
  /** What stands on the keys. */
  readonly names: readonly string[];
  /** What is done with the mouse, in words. */
  readonly word?: Key;
  readonly does: Key;
}

export const KEYS: readonly { readonly title: Key; readonly keys: readonly KeyHelp[] }[] = [
  {
    title: "keys.move",
    keys: [
      { names: ["←", "→"], does: "keys.pan" },
      { names: ["+", "−"], does: "keys.zoom" },
      { names: ["0"], does: "keys.whole" },
      { names: ["Home", "End"], does: "keys.ends" },
      { names: ["Shift ↑", "Shift ↓"], does: "keys.height" },
      { names: [",", "."], does: "keys.cursor" },
      { names: ["<", ">"], does: "keys.cursor_far" },
      { names: ["q", "Q"], does: "keys.beat" },
      { names: ["u", "U"], does: "keys.unused" },
      { names: ["PgDn", "PgUp"], does: "keys.trial" },
    ],
  },
  {
    title: "keys.correct",
    keys: [
      { names: ["[", "]"], does: "keys.edges" },
      { names: ["x"], does: "keys.exclude" },
      { names: ["a"], does: "keys.add_beat" },
      { names: ["d"], does: "keys.refuse_beat" },
      { names: ["Esc"], does: "keys.nothing" },
      { names: ["Ctrl Z"], does: "keys.undo" },
      { names: ["Ctrl Y"], does: "keys.redo" },
    ],
  },
  {
    title: "keys.mouse",
    keys: [
      { names: [], word: "keys.word_drag", does: "keys.drag" },
      { names: ["Shift"], word: "keys.word_drag", does: "keys.drag_choose" },
      { names: [], word: "keys.word_click", does: "keys.click" },
      { names: [], word: "keys.word_wheel", does: "keys.wheel" },
      { names: ["Shift"], word: "keys.word_wheel", does: "keys.wheel_pan" },
      { names: ["Alt"], word: "keys.word_wheel", does: "keys.wheel_height" },
    ],
  },
  { title: "keys.everywhere", keys: [{ names: ["?"], does: "keys.help" }, { names: ["Tab"], does: "keys.tab" }] },
];
