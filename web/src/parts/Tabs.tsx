import type { ComponentChildren } from "preact";
import { useRef } from "preact/hooks";

export interface TabEntry<Name extends string> {
  readonly name: Name;
  readonly label: string;
}

interface TabsProps<Name extends string> {
  readonly label: string;
  readonly id: string;
  readonly tabs: readonly TabEntry<Name>[];
  readonly chosen: Name;
  readonly onChoose: (name: Name) => void;
  readonly children: ComponentChildren;
}

/** One of several panels; arrows go from tab to tab. */
export function Tabs<Name extends string>({ label, id, tabs, chosen, onChoose, children }: TabsProps<Name>) {
  const list = useRef<HTMLDivElement>(null);
  const step = (event: KeyboardEvent): void => {
    const by = event.key === "ArrowRight" ? 1 : event.key === "ArrowLeft" ? -1 : 0;
    if (!by) return;
    event.preventDefault();
    const at = tabs.findIndex((tab) => tab.name === chosen);
    const next = tabs[(at + by + tabs.length) % tabs.length];
    if (!next) return;
    onChoose(next.name);
    list.current?.querySelector<HTMLElement>(`#${id}-${next.name}`)?.focus();
  };
  return (
    <>
      <div class="tab-list" role="tablist" aria-label={label} ref={list} onKeyDown={step}>
        {tabs.map((tab) => (
          <button
            key={tab.name} type="button" role="tab" id={`${id}-${tab.name}`} aria-controls={`${id}-panel`}
            aria-selected={tab.name === chosen} tabIndex={tab.name === chosen ? 0 : -1} onClick={() => onChoose(tab.name)}
          >
            {tab.label}
          </button>
        ))}
      </div>
      <div class="tab-panel" role="tabpanel" id={`${id}-panel`} aria-labelledby={`${id}-${chosen}`} tabIndex={-1}>{children}</div>
    </>
  );
}
