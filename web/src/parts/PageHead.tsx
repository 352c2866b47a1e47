import type { ComponentChildren } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { t } from "../text/text";
import { Link } from "./Link";

export interface Crumb {
  readonly href: string;
  readonly label: string;
}

interface PageHeadProps {
  readonly title: string;
  readonly crumbs?: readonly Crumb[];
  /** Beside the title. */
  readonly beside?: ComponentChildren;
  /** At the end of the row. */
  readonly children?: ComponentChildren;
}

/** Where the page stands, and its heading; the heading takes the focus when the page is entered. */
export function PageHead({ title, crumbs = [], beside, children }: PageHeadProps) {
  const heading = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    document.title = t("app.page_title", { page: title });
  }, [title]);
  useEffect(() => heading.current?.focus({ preventScroll: true }), [crumbs.map((crumb) => crumb.href).join()]);
  return (
    <div class="page-head">
      <div>
        {crumbs.length > 0 && (
          <nav aria-label={t("crumbs.label")} class="crumbs">
            <ol>{crumbs.map(({ href, label }) => <li key={href}><Link href={href}>{label}</Link></li>)}</ol>
          </nav>
        )}
        <div class="title-row">
          <h1 ref={heading} tabIndex={-1}>{title}</h1>
          {beside}
        </div>
      </div>
      {children && <div class="page-tools">{children}</div>}
    </div>
  );
}
