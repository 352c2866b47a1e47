import { useMemo, useState } from "preact/hooks";
import type { Person } from "../../api/further_calls";
import { PageHead } from "../../parts/PageHead";
import { Trouble } from "../../parts/Trouble";
import { useKept } from "../../state/use_kept";
import { t } from "../../text/text";
import { CurveView } from "../../traces/CurveView";
import { ChooseSession } from "./ChooseSession";
import { NumbersPart } from "./NumbersPart";
import { HEALTHY, lookAt } from "./person";
import { PersonPart } from "./PersonPart";
import { picturesOf, type Small, type Words } from "./pictures";
import { useLesson } from "./use_lesson";
import { useOverlay } from "./use_overlay";

const WORDS: Words = { get since() { return t("teach.since_change"); }, get velocity() { return t("teach.velocity"); }, get against() { return t("teach.against"); }, say: (key) => t(key as "app.name") };

/** Sliders for the physiology beside every trace and number of such a person. */
export function TeachPage() {
  const [person, setPerson] = useKept<Person>("teach", HEALTHY);
  const [session, setSession] = useState("");
  const own = useLesson(person);
  const healthy = useLesson({ ...HEALTHY, age_years: person.age_years });
  const laid = useOverlay(session, healthy.lesson);
  const pictures = useMemo(
    () => (own.lesson && healthy.lesson ? picturesOf(own.lesson, healthy.lesson, laid.overlay, WORDS) : null),
    [own.lesson, healthy.lesson, laid.overlay],
  );
  // The same elements are not compared again: a slider moves many times a second.
  const drawn = useMemo(() => pictures && <div class="small-pictures">{pictures.map((one) => <SmallPicture key={one.id} one={one} />)}</div>, [pictures]);
  const numbers = useMemo(() => own.lesson && healthy.lesson && <NumbersPart person={own.lesson} healthy={healthy.lesson} />, [own.lesson, healthy.lesson]);
  return (
    <>
      <PageHead title={t("teach.title")} beside={<p class="state draft"><strong>{t("teach.no_patient")}</strong></p>}>
        <span class="hint">{t("teach.hint")}</span>
      </PageHead>
      <Trouble error={own.error ?? healthy.error ?? laid.error} />
      <div class="teach">
        <div class="column">
          <PersonPart person={person} onChange={setPerson} />
          <section class="sheet" aria-labelledby="over">
            <h2 id="over">{t("teach.over")}</h2>
            <ChooseSession chosen={session} onChoose={setSession} matched={laid.matched} reading={laid.reading} />
          </section>
        </div>
        <section class="column" aria-labelledby="teach-traces" tabIndex={0}>
          <h2 id="teach-traces" class="unseen">{t("teach.traces")}</h2>
          <div class="sheet look" role="status">
            <strong>{t("teach.look")}: </strong>{lookAt(person).map((key) => t(key as "app.name")).join(" ")}
          </div>
          <Legend patient={laid.overlay.size > 0} />
          {drawn ?? <p class="waiting">{t("teach.working")}</p>}
        </section>
        <div class="column" role="group" aria-label={t("teach.numbers")} tabIndex={0}>{numbers}</div>
      </div>
    </>
  );
}

function SmallPicture({ one }: { readonly one: Small }) {
  return (
    <figure class={one.wide ? "small-picture wide" : "small-picture"}>
      <figcaption>{one.title}</figcaption>
      <CurveView picture={one.picture} label={t("teach.picture", { title: one.title })} />
      {one.notes?.map((note) => <p key={note} class="hint">{note}</p>)}
    </figure>
  );
}

const LINES = [["person", "teach.line_person"], ["healthy", "teach.line_healthy"], ["chair", "teach.line_chair"], ["own", "teach.line_patient"]] as const;

function Legend({ patient }: { readonly patient: boolean }) {
  return (
    <p class="lines" aria-label={t("teach.legend")} role="group">
      {LINES.filter(([name]) => patient || name !== "own").map(([name, key]) => (
        <span key={name} class="line"><svg class={`sample teach-${name}`} viewBox="0 0 24 10" aria-hidden="true"><path d="M0 5H24" /></svg>{t(key)}</span>
      ))}
      <span class="hint">{t("teach.line_pairs")}</span>
    </p>
  );
}
