import { expect, test } from "vitest";
import { apart } from "../src/pages/read/report_frame";

test("style sheets and style attributes leave a report before it is parsed, its text does not", () => {
  const page = '<html><head><style>p{color:red}</style></head><body><p style="margin:0" class="a">say style="x"</p><style >b{}</style></body></html>';
  const { css, html } = apart(page);
  expect(css).toBe("p{color:red}\nb{}");
  expect(html).not.toMatch(/<style|<p style=/);
  expect(html).toContain('class="a">say style="x"</p>');
  expect(html).toContain('data-waiting-style="margin:0"');
});
