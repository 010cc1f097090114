// SPDX-License-Identifier: Apache-2.0
// The picture with one node in front, what can be done to it, and the same in words and numbers.
import { useSignal } from '@preact/signals';
import type { JSX } from 'preact';
import { useEffect, useLayoutEffect, useMemo } from 'preact/hooks';
import type { Settings } from '../api/types';
import { toNode } from '../browser/route';
import { CommitBar } from '../edit/commit_bar';
import { discard } from '../edit/drafts';
import { CentreField, FilterField, GainField, NothingWanted } from '../edit/setting_fields';
import { conditionsOf, suppose } from '../edit/supposing';
import { useEditing } from '../edit/use_editing';
import type { HeardNode } from '../feed/state';
import { axis as axisOfShow } from '../feed/show';
import { live } from '../feed/store';
import { plainAxis, toAxis, toMhz } from '../model/axis';
import { band } from '../model/format';
import type { Span } from '../model/span';
import { levelOf } from '../model/trouble';
import { may } from '../session/session';
import type { Acting } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Shape } from '../ui/shape';
import { Troubles } from '../ui/troubles';
import { withKeys } from '../ui/view_keys';
import { CarrierTable } from './carrier_table';
import { curveFor, type Truth } from './curve';
import { fates as fatesOf, harmedBy, productsAt } from './passing';
import { Picture } from './picture';
import { zoomed } from './scale';
import { useLatest } from './use_latest';
import { useSettled } from './use_settled';
import type { Told } from './use_spectrum';
import { pictureWords, summary } from './words';

const aboutCarriers = ['carrier-outside-window', 'own-transmitter-in-window'];
const howTo =
  'All of it stands in the table below. Arrow keys move the picture, plus and minus stretch it, ' +
  'Home shows all.';
const slowAfter = 150; // ms
const restAfter = 250; // ms

// True while it has been true for a while.
function useFor(is: boolean, ms: number): boolean {
  const lasting = useSignal(false);
  useEffect(() => {
    if (!is) {
      lasting.value = false;
      return;
    }
    const soon = setTimeout(() => void (lasting.value = true), ms);
    return () => clearTimeout(soon);
  }, [is]);
  return is && lasting.value;
}

interface Props {
  node: HeardNode;
  told: Told;
  acting: Acting;
  onSelect: (node: string) => void;
}

export function Worktop({ node, told, acting, onSelect }: Props): JSX.Element {
  const { spectrum } = told;
  const editing = useEditing(node, acting);
  const { draft, allowed } = editing;
  // Until the segments have come the daemon's span has to do.
  const ofShow = axisOfShow.value;
  const axis = useMemo(
    () => ofShow ?? plainAxis([spectrum.span_mhz[0] ?? 0, spectrum.span_mhz[1] ?? 1]),
    [ofShow, spectrum.span_mhz[0], spectrum.span_mhz[1]],
  );
  const full = useMemo<Span>(() => [0, axis.length], [axis]);
  const chosenSight = useSignal<Span | null>(null);
  const sight = chosenSight.value ?? full;
  const setSight = (to: Span): void =>
    void (chosenSight.value = to[0] === full[0] && to[1] === full[1] ? null : to);
  const held = useSignal(false);

  const draftSettings = draft?.settings;
  const asked = useLatest(
    draftSettings ? JSON.stringify([conditionsOf(node), draftSettings]) : null,
    () => suppose(node.name, { settings: draftSettings! }),
  );
  // What was said of another node is not about this one.
  const supposed =
    asked.answer && asked.answer.node !== node.name
      ? { ...asked, answer: null, old: false }
      : asked;
  const answer = supposed.answer;

  // Of the settings that it has: those are what it does to carriers now.
  const current = node.seen?.settings ?? node.wanted ?? null;
  const settings: Settings | null = draftSettings ?? current;
  const entry = useMemo(
    () => spectrum.nodes.find((one) => one.node === node.name),
    [spectrum, node.name],
  );
  const known = told.settings.get(node.name);
  const truths = useMemo(() => {
    const found: Truth[] = [];
    const response = answer?.response;
    const put = (
      of: Settings,
      curve: Truth['curve'],
      pass: readonly number[] | undefined,
    ): void => {
      const truth: Truth = { settings: of, curve };
      if (pass) truth.passband_mhz = [pass[0] ?? 0, pass[1] ?? 0];
      found.push(truth);
    };
    if (response) put(response.settings, response, response.passband_mhz);
    if (entry && known) put(known, entry.response, entry.passband_mhz);
    return found;
  }, [answer, entry, known]);
  const shown = useMemo(
    () => (settings ? curveFor(settings, truths) : null),
    [settings?.gain_db, settings?.centre_mhz, settings?.filter, settings?.power, truths],
  );
  const findings = draft ? (supposed.old ? [] : (answer?.findings ?? [])) : node.findings;
  const serves = node.serves.map(({ receiver }) => receiver).join('\n');
  const fates = useMemo(() => {
    if (!shown) return [];
    const faulted = new Set(
      findings
        .filter(({ rule, severity }) => severity === 'refuse' && aboutCarriers.includes(rule))
        .flatMap(({ concerns }) => concerns),
    );
    return fatesOf(node.name, new Set(serves.split('\n')), shown, spectrum.carriers, faulted);
  }, [shown, spectrum, node.name, serves, findings]);
  const products = useMemo(() => productsAt(node.name, spectrum.products), [spectrum, node.name]);
  const harmed = useMemo(() => harmedBy(node.findings), [node.findings]);
  const curves = useMemo(
    () => spectrum.nodes.map((one) => ({ node: one.node, curve: one.response })),
    [spectrum],
  );

  const edited = draft !== undefined;
  const moving = useFor(!held.value && !supposed.old, restAfter) === false && edited;
  const slow = useFor(supposed.old, slowAfter);
  const words = pictureWords(node.name, shown, fates, products);
  const said = useSettled(words, restAfter);
  const table = useSettled(fates, restAfter);
  const inTable = table.length > 0 && table.length === fates.length ? table : fates;
  const numbers = useMemo(
    () => (
      <CarrierTable
        node={node.name}
        fates={inTable}
        products={products}
        harmed={harmed}
        edited={edited}
      />
    ),
    [node.name, inTable, products, harmed, edited],
  );

  useEffect(() => {
    if (!edited) return;
    return withKeys([
      { key: 'Escape', does: 'Drop the edits', run: () => !acting.busy && discard(node.name) },
    ]);
  }, [node.name, edited, acting.busy]);
  useLayoutEffect(() => acting.clear(), [node.name]);

  const tryOut = may('POST /nodes/{node}/what-if') && node.wanted !== undefined;
  const disabled = !live.value || acting.busy;
  const change = (changed: Partial<Settings>): void => {
    if (!disabled) editing.change(changed);
  };
  const fields = settings && {
    settings,
    allowed: allowed.answer,
    refusal: supposed.refusal ?? acting.refusal,
    disabled,
    onEdit: change,
  };
  const filter = allowed.answer?.filters.find(({ name }) => name === settings?.filter);
  const sum = summary(fates, products);
  const middle = (sight[0] + sight[1]) / 2;
  const served = spectrum.carriers
    .filter(({ receivers }) => receivers?.some((one) => serves.split('\n').includes(one)))
    .map(({ frequency_mhz }) => frequency_mhz)
    .sort((a, b) => a - b);
  const ofInterest = shown?.passband_mhz
    ? (shown.passband_mhz[0] + shown.passband_mhz[1]) / 2
    : (served[Math.floor(served.length / 2)] ?? toMhz(axis, middle));

  return (
    <div class={`worktop${slow ? ' slow' : ''}${moving ? ' moving' : ''}`}>
      <div class="in-picture">
        <div class="sight-tools">
          <p class="window steady">
            {shown?.passband_mhz ? `Window ${band(shown.passband_mhz)}` : 'No filter'}
          </p>
          <span class="spring" />
          <p class="quiet steady in-sight">
            {band(sight.map((place) => Number(toMhz(axis, place).toFixed(1))))} in sight
          </p>
          <div class="buttons">
            <button
              type="button"
              class="button"
              aria-label="Show more of the spectrum"
              disabled={chosenSight.value === null}
              onClick={() => setSight(zoomed(sight, full, 1 / 1.5, middle))}
            >
              −
            </button>
            <button
              type="button"
              class="button"
              aria-label="Look closer"
              onClick={() =>
                setSight(
                  zoomed(
                    sight,
                    full,
                    1.5,
                    // Closer to what it hears, when all was in sight.
                    chosenSight.value === null ? toAxis(axis, ofInterest) : middle,
                  ),
                )
              }
            >
              +
            </button>
            <button
              type="button"
              class="button"
              disabled={chosenSight.value === null}
              onClick={() => setSight(full)}
            >
              All
            </button>
          </div>
        </div>
        <Picture
          spectrum={spectrum}
          curves={curves}
          node={node.name}
          shown={shown}
          fates={fates}
          products={products}
          harmed={harmed}
          settings={tryOut ? settings : null}
          gain={allowed.answer?.gain_db}
          centre={filter?.centre_mhz}
          disabled={disabled}
          live={live.value}
          label={`Spectrum with ${node.name} in front`}
          description={`${said}. ${howTo}`}
          axis={axis}
          sight={sight}
          full={full}
          onSight={setSight}
          onSelect={onSelect}
          onEdit={change}
          onHold={(is) => void (held.value = is)}
          onDrop={() => discard(node.name)}
        />
        <ul class="legend" aria-label="Marks in the picture">
          <li>
            <svg viewBox="0 0 14 20" aria-hidden="true">
              <path d="M7 20V10" />
              <circle cx="7" cy="6" r="4" />
            </svg>
            microphone, at its level at the antenna
          </li>
          <li>
            <svg viewBox="0 0 14 20" aria-hidden="true">
              <path d="M5.5 20V10M8.5 20V10M7 1l5.5 9h-11z" />
            </svg>
            transmits: the show's own
          </li>
          <li>
            <svg viewBox="0 0 14 20" aria-hidden="true">
              <path class="thick" d="M7 20V6" />
            </svg>
            the same behind the node: what is left of it
          </li>
          <li>
            <svg viewBox="0 0 14 20" aria-hidden="true">
              <path class="thin" d="M0 14C5 14 4 6 7 6s2 8 7 8" />
            </svg>
            another node: tap it to have it in front
          </li>
          {products.length > 0 && (
            <li>
              <svg class={harmed.size > 0 ? 'caution' : ''} viewBox="0 0 14 20" aria-hidden="true">
                <path d="M7 20V15M7 1l6 7-6 7-6-7z" />
              </svg>
              product of two or three carriers{harmed.size > 0 ? ', too strong' : ''}
            </li>
          )}
        </ul>
        {shown ? (
          <p class="sum">
            {sum.wrong && <Shape level="fault" />}
            <span>
              <b>{node.name}</b> {sum.own}
              {sum.rejects ? `; ${sum.rejects}` : ''}; {sum.products}
              {edited && products.length > 0 ? ' as it is set now' : ''}.
            </span>
          </p>
        ) : (
          <p class="none">What {node.name} passes is not known: it was never read.</p>
        )}
      </div>
      <aside class="beside-picture" aria-label={`Settings of ${node.name}`}>
        {levelOf(node) !== 'calm' && <Troubles node={node} />}
        {node.agreement === 'drifted' && (
          <p class="quiet">
            The picture has what it shows. An edit starts from what is wanted; to adopt what it
            shows, open the node.
          </p>
        )}
        {!node.wanted && <NothingWanted />}
        {fields && tryOut && (
          <section class="part" aria-label="Settings">
            <div class="part-head">
              <h2>{node.name}</h2>
              <a class="button" href={toNode(node.name)}>
                Open the node
              </a>
            </div>
            <FilterField {...fields} />
            <CentreField {...fields} />
            <GainField {...fields} />
          </section>
        )}
        <RefusalText refusal={allowed.refusal} />
        {!edited && <Said text={acting.done} />}
        {draft && (
          <CommitBar key={node.name} node={node} draft={draft} verdict={supposed} acting={acting} />
        )}
      </aside>
      <div class="under-picture">{numbers}</div>
    </div>
  );
}
