/** One open session: what the server says of it, and the changes that are asked for. */
import * as ask from "../api/calls";
import { Refused } from "../api/errors";
import type { Changed, Draft, Job, SessionAnswer } from "../api/types";
import { Store } from "./store";
import { needWho } from "./who";

export interface Change {
  /** Counts the changes of this page's life, so that the same change twice is seen twice. */
  readonly number: number;
  readonly what: "edit" | "undo" | "redo";
  readonly kind: string | null;
  readonly trial: string | null;
  readonly answer: Changed;
}

export interface SessionView {
  readonly answer: SessionAnswer | null;
  readonly failure: unknown;
  readonly job: Job | null;
  readonly change: Change | null;
  readonly busy: boolean;
}

export type Outcome =
  | { readonly kind: "done"; readonly change: Change }
  | { readonly kind: "put off" }
  | { readonly kind: "conflict" }
  | { readonly kind: "failed"; readonly error: unknown };

const POLL_MS = 400;
const NOTHING: SessionView = { answer: null, failure: null, job: null, change: null, busy: false };
const desks = new Map<string, SessionDesk>();

/** The desk of a session; the same for every page of it. */
export function deskOf(id: string): SessionDesk {
  let desk = desks.get(id);
  if (!desk) {
    desk = new SessionDesk(id);
    desks.set(id, desk);
  }
  return desk;
}

export class SessionDesk {
  readonly view = new Store<SessionView>(NOTHING);
  #loading: Promise<void> | null = null;
  #signed: { readonly digest: string | null; readonly number: number | null } = { digest: null, number: null };

  constructor(readonly id: string) {}

  /** Read it once more; what is there stays until the answer has come. */
  load(): Promise<void> {
    this.#loading ??= this.#read().finally(() => {
      this.#loading = null;
    });
    return this.#loading;
  }

  async #read(): Promise<void> {
    try {
      let answer = await ask.readSession(this.id);
      while (answer.document === null && answer.job !== null) {
        this.#show({ answer, failure: null });
        const job = await this.#ended(answer.job);
        answer = await ask.readSession(this.id);
        if (answer.document === null && job.state !== "done") break;
      }
      this.#signed = { digest: answer.reading_digest, number: answer.signed_as_shown };
      this.#show({ answer, failure: null, job: answer.document ? null : this.view.value.job });
    } catch (failure) {
      this.#show({ failure });
    }
  }

  async #ended(id: string): Promise<Job> {
    for (;;) {
      const job = await ask.job(id);
      this.#show({ job });
      if (job.state !== "waiting" && job.state !== "running") return job;
      await new Promise((wake) => setTimeout(wake, POLL_MS));
    }
  }

  edit(wish: ask.EditWish, reason: string): Promise<Outcome> {
    return this.#change("edit", wish.kind, wish.trial, (by, seen) => ask.addEdit(this.id, wish, by, reason, seen));
  }

  undo(): Promise<Outcome> {
    return this.#change("undo", null, null, (by, seen) => ask.undo(this.id, by, seen));
  }

  redo(): Promise<Outcome> {
    return this.#change("redo", null, null, (by, seen) => ask.redo(this.id, by, seen));
  }

  async #change(
    what: Change["what"],
    kind: string | null,
    trial: string | null,
    asked: (by: string, seen: number) => Promise<Changed>,
  ): Promise<Outcome> {
    const by = await needWho();
    const seen = this.view.value.answer?.edits.count;
    if (by === null || seen === undefined) return { kind: "put off" };
    this.#show({ busy: true });
    try {
      const change = this.#took(what, kind, trial, await asked(by, seen));
      return { kind: "done", change };
    } catch (error) {
      if (!(error instanceof Refused && error.isConflict)) return { kind: "failed", error };
      await this.load();
      return { kind: "conflict" };
    } finally {
      this.#show({ busy: false });
    }
  }

  #took(what: Change["what"], kind: string | null, trial: string | null, answer: Changed): Change {
    const before = this.view.value;
    const change = { number: (before.change?.number ?? 0) + 1, what, kind, trial, answer };
    const { document, edits, statement_keys, figures, reading_digest } = answer;
    const known = before.answer;
    const signed_as_shown = this.#signedAs(reading_digest);
    this.#show({ change, answer: known && { ...known, document, edits, statement_keys, figures, reading_digest, signed_as_shown } });
    return change;
  }

  /** What the server keeps as the draft now. */
  tookDraft(draft: Draft, reading_digest: string | null): void {
    const known = this.view.value.answer;
    if (known) this.#show({ answer: { ...known, draft, reading_digest, signed_as_shown: this.#signedAs(reading_digest) } });
  }

  /** The version that holds this reading, as far as the last reading of the session told. */
  #signedAs(digest: string | null): number | null {
    return digest !== null && digest === this.#signed.digest ? this.#signed.number : null;
  }

  forgetChange(): void {
    this.#show({ change: null });
  }

  #show(part: Partial<SessionView>): void {
    this.view.update((view) => ({ ...view, ...part }));
  }
}
