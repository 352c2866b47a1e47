/** What was typed and is not saved yet: kept in this tab, so that a reload loses none of it. */
const PREFIX = "slowphase.kept.";

export function keep(name: string, value: unknown): void {
  sessionStorage.setItem(PREFIX + name, JSON.stringify(value));
}

export function kept<T>(name: string, otherwise: T): T {
  try {
    const text = sessionStorage.getItem(PREFIX + name);
    return text === null ? otherwise : (JSON.parse(text) as T);
  } catch {
    return otherwise;
  }
}

export function letGo(name: string): void {
  sessionStorage.removeItem(PREFIX + name);
}
