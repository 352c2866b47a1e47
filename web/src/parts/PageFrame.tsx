import { useEffect, useRef } from "preact/hooks";
import { fillFrame } from "../pages/read/report_frame";

interface PageFrameProps {
  readonly page: string;
  readonly title: string;
}

/** A page of the report's make, in a frame without any power, as high as what it holds. */
export function PageFrame({ page, title }: PageFrameProps) {
  const frame = useRef<HTMLIFrameElement>(null);
  useEffect(() => {
    const own = frame.current;
    if (!own) return;
    const empty = fillFrame(own, page);
    const fit = (): void => {
      const root = own.contentDocument?.documentElement;
      if (root) own.style.height = `${root.getBoundingClientRect().height + 4}px`;
    };
    const watcher = new ResizeObserver(fit);
    if (own.contentDocument) watcher.observe(own.contentDocument.documentElement);
    fit();
    return () => {
      watcher.disconnect();
      empty();
    };
  }, [page]);
  return <iframe ref={frame} class="page-frame" title={title} sandbox="allow-same-origin" />;
}
