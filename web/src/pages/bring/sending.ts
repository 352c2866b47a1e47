/** Files on their way to an import: one after another, told as they go, stopped when asked. */
import { filePath } from "../../api/further_calls";
import { isGivenUp } from "../../api/errors";
import { sendFile } from "../../api/upload";
import { Store } from "../../state/store";
import type { Given } from "./sessions_of";

export interface Sent {
  readonly path: string;
  readonly bytes: number;
  readonly sent: number;
  readonly state: "waiting" | "going" | "there" | "refused" | "stopped";
  readonly error: unknown;
}

export class Sending {
  readonly files: Store<readonly Sent[]>;
  readonly #stop = new AbortController();

  constructor(
    readonly id: string,
    private readonly given: readonly Given[],
  ) {
    this.files = new Store<readonly Sent[]>(given.map(({ path, file }) => ({ path, bytes: file.size, sent: 0, state: "waiting", error: null })));
  }

  get running(): boolean {
    return this.files.value.some(({ state }) => state === "waiting" || state === "going");
  }

  async run(): Promise<void> {
    for (const [index, { path, file }] of this.given.entries()) {
      if (this.#stop.signal.aborted) break;
      await this.#send(index, path, file);
    }
  }

  stop(): void {
    this.#stop.abort();
    this.files.update((files) => files.map((one) => (one.state === "waiting" || one.state === "going" ? { ...one, state: "stopped" } : one)));
  }

  async #send(index: number, path: string, file: File): Promise<void> {
    this.#tell(index, { state: "going" });
    try {
      await sendFile(filePath(this.id, path), file, (sent) => this.#tell(index, { sent }), this.#stop.signal);
      this.#tell(index, { state: "there", sent: file.size });
    } catch (error) {
      this.#tell(index, isGivenUp(error) ? { state: "stopped" } : { state: "refused", error });
    }
  }

  #tell(index: number, part: Partial<Sent>): void {
    this.files.update((files) => files.map((one, at) => (at === index ? { ...one, ...part } : one)));
  }
}

/** How much of everything has gone, from 0 to 1. */
export function shareSent(files: readonly Sent[]): number {
  const weight = ({ bytes }: Sent): number => bytes + 1;
  const whole = files.reduce((sum, one) => sum + weight(one), 0);
  const gone = files.reduce((sum, one) => sum + (one.state === "waiting" || one.state === "going" ? one.sent : weight(one)), 0);
  return whole ? Math.min(gone / whole, 1) : 1;
}
