import { useEffect, useMemo, useRef } from "preact/hooks";
import { readWindow } from "../api/calls";
import type { TrialAnswer } from "../api/types";
import { Store } from "../state/store";
import { t } from "../text/text";
import { lanesOf } from "./lanes";
import type { TraceModel } from "./model";
import { panelsOf } from "./ranges";
import { TraceStack } from "./stack";
import { OverviewStrip } from "./strip";
import type { TraceWindow } from "./window_format";
import type { Fetch } from "./window_source";

interface TraceViewProps {
  readonly session: string;
  readonly trial: TrialAnswer;
  readonly model: TraceModel;
  /** What is drawn now, for reading values off. */
  readonly drawn: Store<TraceWindow | null>;
  readonly failed: (error: unknown) => void;
  readonly summary: string;
  /** Where windows come from, if not from a trial of a session. */
  readonly read?: Fetch;
}

/** The stacked traces of a trial with the strip of the whole recording below them. */
export function TraceView({ session, trial, model, drawn, failed, summary, read }: TraceViewProps) {
  const hosts = { position: useRef<HTMLDivElement>(null), velocity: useRef<HTMLDivElement>(null), lanes: useRef<HTMLDivElement>(null) };
  const layer = useRef<HTMLDivElement>(null);
  const strip = useRef<HTMLDivElement>(null);
  const panels = useMemo(() => panelsOf(trial), [trial]);
  const lanes = useMemo(() => lanesOf(trial).length, [trial]);
  const channels = useMemo(() => trial.channels.filter((channel) => channel.panel !== "other").map((channel) => channel.id), [trial]);

  useEffect(() => {
    if (!layer.current || !strip.current) return;
    const overview = new OverviewStrip(strip.current, model);
    const stack = new TraceStack(model, {
      hosts: Object.fromEntries(Object.entries(hosts).flatMap(([name, host]) => (host.current ? [[name, host.current]] : []))),
      layer: layer.current,
      fetch: read ?? ((wish, signal) => readWindow(session, trial.id, { channels, ...wish }, signal)),
      drawn: (window, base) => {
        drawn.set(window);
        overview.show(base);
      },
      failed,
    });
    return () => {
      stack.destroy();
      overview.destroy();
    };
  }, [session, trial, model]);

  return (
    <div class="trace-view">
      <div class="stack" role="group" tabIndex={0} aria-label={t("traces.label", { trial: trial.id })} aria-describedby="traces-summary">
        {panels.map((name) => (
          <div key={name} class={`panel ${name}`}>
            <p class="panel-title">{t(name === "position" ? "traces.position" : "traces.velocity")}</p>
            <div class="host" ref={hosts[name]} />
          </div>
        ))}
        <div class="panel lanes" style={{ height: `${lanes * 1.05 + 1.7}rem` }}><div class="host" ref={hosts.lanes} /></div>
        <div class="layer" ref={layer} aria-hidden="true" />
      </div>
      <div class="strip" ref={strip} aria-hidden="true" title={t("traces.strip")} />
      <p id="traces-summary" class="unseen">{summary}</p>
    </div>
  );
}
