/** A correction that is being made: what is wished, why, and what stood in its way. */
import type { EditWish } from "../../api/calls";
import { announce } from "../../app/announce";
import { keep, kept, letGo } from "../../state/kept";
import { rememberReason } from "../../state/reasons";
import type { Outcome, SessionDesk } from "../../state/session";
import { Store } from "../../state/store";
import { t } from "../../text/text";
import type { TraceModel } from "../../traces/model";
import type { TraceWindow } from "../../traces/window_format";
import { changeSentence } from "./change_words";

export type Tab = "measures" | "correct" | "edits";

/** The tab stays as it is from trial to trial. */
export const tab = new Store<Tab>(kept<Tab>("tab", "measures"));
tab.watch((value) => keep("tab", value));

export class Correction {
  readonly wish: Store<EditWish | null>;
  readonly reason: Store<string>;
  readonly trouble = new Store<unknown>(null);
  readonly conflict = new Store(false);
  /** What is drawn now; read off by the line below the traces. */
  readonly drawn = new Store<TraceWindow | null>(null);
  /** Counts how often the reason was asked for; the form goes there each time. */
  readonly asked = new Store(0);
  readonly #name: string;

  constructor(
    session: string,
    readonly trial: string,
    readonly model: TraceModel,
  ) {
    this.#name = `correction.${session}.${trial}`;
    const before = kept<{ wish: EditWish | null; reason: string }>(this.#name, { wish: null, reason: "" });
    this.wish = new Store(before.wish);
    this.reason = new Store(before.reason);
    const remember = (): void => keep(this.#name, { wish: this.wish.value, reason: this.reason.value });
    this.wish.watch(remember);
    this.reason.watch(remember);
  }

  /** Propose a change; it is made when a reason is given. */
  propose(wish: EditWish): void {
    this.trouble.set(null);
    this.conflict.set(false);
    this.wish.set(wish);
    tab.set("correct");
    this.askReason();
  }

  askReason(): void {
    this.asked.update((count) => count + 1);
  }

  proposeExclusion(): void {
    const interval = this.model.interval;
    if (interval) this.propose({ kind: "exclude", trial: this.trial, values: { start_s: interval.start_s, stop_s: interval.stop_s } });
    else announce(t("correct.no_interval"));
  }

  proposeBeat(): void {
    const interval = this.model.interval;
    if (interval) this.propose({ kind: "quick_phase", trial: this.trial, values: { start_s: interval.start_s, stop_s: interval.stop_s } });
    else announce(t("correct.no_interval"));
  }

  proposeNoBeat(): void {
    const beat = this.model.beat;
    if (beat) this.propose({ kind: "no_quick_phase", trial: this.trial, values: { at_s: (beat.start_s + beat.stop_s) / 2 } });
    else announce(t("correct.no_beat"));
  }

  giveUp(): void {
    this.wish.set(null);
    this.trouble.set(null);
    this.conflict.set(false);
  }

  /** Make the change that was proposed; what was typed is kept until it is made. */
  async make(desk: SessionDesk): Promise<void> {
    const wish = this.wish.value;
    const reason = this.reason.value.trim();
    if (!wish || !reason) return this.askReason();
    const outcome = await desk.edit(wish, reason);
    if (outcome.kind === "done") {
      rememberReason(reason);
      this.#made();
    }
    this.tell(outcome);
  }

  #made(): void {
    this.wish.set(null);
    this.reason.set("");
    letGo(this.#name);
    this.model.chooseNothing();
  }

  /** Say what came of a change. */
  tell(outcome: Outcome): void {
    this.trouble.set(outcome.kind === "failed" ? outcome.error : null);
    this.conflict.set(outcome.kind === "conflict");
    if (outcome.kind === "done") announce(changeSentence(outcome.change));
  }
}
