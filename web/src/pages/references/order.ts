/** The order in which sets are preferred, as references.toml has it. Pure. */
export const ORDER_FILE = "references.toml";

/** The file's text for an order of sets. */
export function orderText(prefer: readonly string[]): string {
  return `prefer = [${prefer.map((id) => JSON.stringify(id)).join(", ")}]\n`;
}

/** One set a place up (-1) or down (1). */
export function moved(order: readonly string[], at: number, by: -1 | 1): string[] {
  const [one, other] = [order[at], order[at + by]];
  if (one === undefined || other === undefined) return [...order];
  return order.map((id, index) => (index === at ? other : index === at + by ? one : id));
}

/** A name that a file of the store may have. */
export function fileName(name: string): string {
  const stem = name.trim().replace(/\.toml$/i, "").replace(/[^A-Za-z0-9._-]+/g, "-").replace(/^[^A-Za-z0-9]+/, "").slice(0, 90);
  return `${stem || "own"}.toml`;
}
