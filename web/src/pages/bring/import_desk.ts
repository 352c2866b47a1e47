/** One import that is open: what the server says of it, and what is being corrected. */
import * as ask from "../../api/further_calls";
import type { ImportAnswer, Told } from "../../api/further_types";
import { Store } from "../../state/store";
import { Sending } from "./sending";
import type { Given } from "./sessions_of";

export interface ImportView {
  readonly answer: ImportAnswer | null;
  /** The description as it stands on the page, ahead of the answer while something is typed. */
  readonly told: Told | null;
  readonly saving: "saved" | "waiting" | "saving" | "refused";
  readonly error: unknown;
  readonly failure: unknown;
  readonly sending: Sending | null;
}

const PAUSE_MS = 300;
const desks = new Map<string, ImportDesk>();

export function importDesk(id: string): ImportDesk {
  let desk = desks.get(id);
  if (!desk) {
    desk = new ImportDesk(id);
    desks.set(id, desk);
  }
  return desk;
}

export class ImportDesk {
  readonly view = new Store<ImportView>({ answer: null, told: null, saving: "saved", error: null, failure: null, sending: null });
  #timer: ReturnType<typeof setTimeout> | undefined;
  #running: Promise<void> | null = null;

  constructor(
    readonly id: string,
    private readonly server: Pick<typeof ask, "readImport" | "describeImport" | "chooseMap"> = ask,
  ) {}

  /** Send files; the import is read anew when they are there. */
  async send(files: readonly Given[]): Promise<void> {
    const sending = new Sending(this.id, files);
    this.#show({ sending });
    await sending.run();
    await this.load();
  }

  async load(): Promise<void> {
    if (this.view.value.sending?.running) return;
    if (this.view.value.saving !== "saved") await this.save();
    await this.#take(() => this.server.readImport(this.id), "failure");
  }

  /** Correct the description; it is sent after a pause, and what follows from it is shown. */
  change(change: (told: Told) => Told): void {
    const { told } = this.view.value;
    if (!told) return;
    this.#show({ told: change(told), saving: "waiting" });
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => void this.save(), PAUSE_MS);
  }

  /** Send what is not sent yet; one call at a time, the last state wins. */
  async save(): Promise<boolean> {
    clearTimeout(this.#timer);
    while (this.#running) await this.#running;
    if (this.view.value.saving !== "saved") {
      this.#running = this.#send().finally(() => {
        this.#running = null;
      });
      await this.#running;
    }
    return this.view.value.saving === "saved";
  }

  async useMap(name: string | null): Promise<void> {
    if (!(await this.save())) return;
    const before = this.view.value.told;
    await this.#take(() => this.server.chooseMap(this.id, name), "error");
    if (before && this.view.value.told !== before) this.change((told) => ({ ...told, ...personOf(before) }));
  }

  async #send(): Promise<void> {
    const sent = this.view.value.told;
    if (!sent) return;
    this.#show({ saving: "saving" });
    try {
      const answer = await this.server.describeImport(this.id, sent);
      const newest = this.view.value.told === sent;
      this.#show({ answer, error: null, ...(newest ? { saving: "saved" as const } : {}) });
    } catch (error) {
      this.#show({ error, saving: "refused" });
    }
  }

  async #take(call: () => Promise<ImportAnswer>, where: "failure" | "error"): Promise<void> {
    try {
      const answer = await call();
      this.#show({ answer, told: answer.description, saving: "saved", error: null, failure: null });
    } catch (error) {
      this.#show({ [where]: error });
    }
  }

  #show(part: Partial<ImportView>): void {
    this.view.update((view) => ({ ...view, ...part }));
  }
}

/** What a map says nothing of stays as it was typed. */
function personOf({ code, age_years, sex, date, notes, conditions }: Told): Partial<Told> {
  return { code, age_years, sex, date, notes, conditions } as Partial<Told>;
}
