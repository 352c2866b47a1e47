/** Asks one at a time; while one is on its way only the last wish is kept. */
export class Latest<Wish, Answer> {
  #running = false;
  #next: { readonly wish: Wish; readonly begun_ms: number } | null = null;

  constructor(
    private readonly call: (wish: Wish) => Promise<Answer>,
    private readonly arrived: (answer: Answer, wish: Wish, begun_ms: number) => void,
    private readonly failed: (error: unknown) => void,
  ) {}

  ask(wish: Wish): void {
    this.#next = { wish, begun_ms: performance.now() };
    if (!this.#running) void this.#run();
  }

  async #run(): Promise<void> {
    this.#running = true;
    while (this.#next) {
      const { wish, begun_ms } = this.#next;
      this.#next = null;
      try {
        this.arrived(await this.call(wish), wish, begun_ms);
      } catch (error) {
        this.failed(error);
      }
    }
    this.#running = false;
  }
}
