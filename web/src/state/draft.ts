/** The signer's decisions on a session while they are made: typed here, kept here, saved there. */
import { type DraftWish, saveDraft } from "../api/calls";
import { Lost } from "../api/errors";
import { connection } from "../api/connection";
import { settled, writtenOf } from "./decided";
import { keep, kept, letGo } from "./kept";
import { deskOf } from "./session";
import { Store } from "./store";
import { who } from "./who";

/** `nameless`: kept in this tab until it is known who works here. */
export type Saving = "saved" | "waiting" | "saving" | "unsaved" | "nameless" | "refused";

export interface DraftView {
  readonly draft: DraftWish;
  readonly saving: Saving;
  readonly savedAt: Date | null;
  readonly error: unknown;
}

const PAUSE_MS = 700;
const EMPTY: DraftWish = { reworded: {}, dropped: {}, remark: "" };
const keepers = new Map<string, DraftKeeper>();

export function draftOf(session: string): DraftKeeper {
  let keeper = keepers.get(session);
  if (!keeper) {
    keeper = new DraftKeeper(session);
    keepers.set(session, keeper);
  }
  return keeper;
}

export class DraftKeeper {
  readonly view: Store<DraftView>;
  readonly #name: string;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #running: Promise<void> | null = null;

  constructor(readonly session: string) {
    this.#name = `draft.${session}`;
    const unsaved = kept<DraftWish | null>(this.#name, null);
    this.view = new Store<DraftView>({ draft: unsaved ?? EMPTY, saving: unsaved ? "unsaved" : "saved", savedAt: null, error: null });
    connection.watch((state) => {
      if (state === "fine" && this.view.value.saving === "unsaved") void this.save();
    });
    who.watch(() => {
      if (this.view.value.saving === "nameless") void this.save();
    });
  }

  /** The draft that the server holds, unless something here is newer. */
  begin(draft: DraftWish): void {
    if (this.view.value.saving === "saved") this.#show({ draft });
    else if (this.view.value.saving === "unsaved") void this.save();
  }

  change(change: (draft: DraftWish) => DraftWish): void {
    const draft = change(this.view.value.draft);
    keep(this.#name, draft);
    this.#show({ draft, saving: "waiting" });
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.save(), PAUSE_MS);
  }

  /** Save what is not saved; resolves when the server has it or has refused it. */
  async save(): Promise<boolean> {
    clearTimeout(this.#timer);
    await this.#running;
    if (this.view.value.saving === "saved") return true;
    if (!who.value) {
      // No question while someone is typing: the note beside the draft asks.
      this.#show({ saving: "nameless" });
      return false;
    }
    this.#running = this.#send(who.value);
    await this.#running;
    this.#running = null;
    return (this.view.value.saving as Saving) === "saved";
  }

  async #send(by: string): Promise<void> {
    const draft = this.view.value.draft;
    this.#show({ saving: "saving", error: null });
    try {
      const desk = deskOf(this.session);
      const answer = await saveDraft(this.session, settled(draft, writtenOf(desk.view.value.answer)), by);
      desk.tookDraft(answer.draft, answer.reading_digest);
      if (this.view.value.draft !== draft) return;
      letGo(this.#name);
      this.#show({ saving: "saved", savedAt: new Date() });
    } catch (error) {
      this.#show({ saving: error instanceof Lost ? "unsaved" : "refused", error });
    }
  }

  #show(part: Partial<DraftView>): void {
    this.view.update((view) => ({ ...view, ...part }));
  }
}

/** Accept a statement as it stands. */
export function accept(draft: DraftWish, key: string): DraftWish {
  return { ...draft, reworded: without(draft.reworded, key), dropped: without(draft.dropped, key) };
}

export function reword(draft: DraftWish, key: string, text: string): DraftWish {
  return { ...draft, reworded: { ...draft.reworded, [key]: text }, dropped: without(draft.dropped, key) };
}

export function drop(draft: DraftWish, key: string, reason: string): DraftWish {
  return { ...draft, dropped: { ...draft.dropped, [key]: reason }, reworded: without(draft.reworded, key) };
}

function without(texts: Readonly<Record<string, string>>, key: string): Record<string, string> {
  return Object.fromEntries(Object.entries(texts).filter(([name]) => name !== key));
}
