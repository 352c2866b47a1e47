/** The few parts of a browser that pure modules touch when they are loaded. */
class Memory {
  readonly #kept = new Map<string, string>();
  getItem(name: string): string | null {
    return this.#kept.get(name) ?? null;
  }
  setItem(name: string, value: string): void {
    this.#kept.set(name, value);
  }
  removeItem(name: string): void {
    this.#kept.delete(name);
  }
}

globalThis.sessionStorage = new Memory() as unknown as Storage;
globalThis.localStorage = new Memory() as unknown as Storage;
