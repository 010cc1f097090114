// SPDX-License-Identifier: Apache-2.0
// Findings and problems in words.
import { Fragment, type ComponentChildren, type JSX } from 'preact';
import type { Finding } from '../api/types';
import type { Level } from '../model/condition';
import type { Refusal } from './act';
import { levelOfSeverity, Shape } from './shape';

const severityWords = { refuse: 'Refused', caution: 'Caution', note: 'Note' } as const;
const severityOrder = ['refuse', 'caution', 'note'];

// A window in the wrong place puts every microphone outside: the first one says it.
const shownOfARule = 1;

const One = ({ finding }: { finding: Finding }): JSX.Element => (
  <li class={levelOfSeverity(finding.severity)}>
    <Shape level={levelOfSeverity(finding.severity)} />
    <p>
      <b>{severityWords[finding.severity]}</b>
      {finding.node ? ` at ${finding.node}` : ''}: {finding.sentence}{' '}
      <span class="rule">{finding.rule}</span>
    </p>
  </li>
);

interface Props {
  findings: readonly Finding[];
  notes?: boolean;
}

export function FindingList({ findings, notes = true }: Props): JSX.Element | null {
  const shown = findings
    .filter((finding) => notes || finding.severity !== 'note')
    .sort((a, b) => severityOrder.indexOf(a.severity) - severityOrder.indexOf(b.severity));
  if (shown.length === 0) return null;
  const rules = new Map<string, Finding[]>();
  for (const finding of shown) {
    const kind = `${finding.severity} ${finding.rule}`;
    rules.set(kind, [...(rules.get(kind) ?? []), finding]);
  }
  return (
    <ul class="findings">
      {[...rules].map(([kind, same]) => {
        const first = same.length > shownOfARule + 1 ? same.slice(0, shownOfARule) : same;
        const rest = same.slice(first.length);
        return (
          <Fragment key={kind}>
            {first.map((finding, i) => (
              <One key={i} finding={finding} />
            ))}
            {rest.length > 0 && (
              <li>
                <details>
                  <summary>
                    and {rest.length} more of {same[0]?.rule}
                  </summary>
                  <ul class="findings">
                    {rest.map((finding, i) => (
                      <One key={i} finding={finding} />
                    ))}
                  </ul>
                </details>
              </li>
            )}
          </Fragment>
        );
      })}
    </ul>
  );
}

// A refusal, with everything that it says.
export function RefusalText({ refusal }: { refusal: Refusal | null }): JSX.Element | null {
  if (!refusal) return null;
  const errors = (refusal.errors ?? []).filter((error) => error.detail !== refusal.detail);
  return (
    <div class="refusal" role="alert">
      <Shape level="fault" />
      <div>
        <p>{refusal.detail}</p>
        {errors.length > 0 && (
          <ul>
            {errors.map((error) => (
              <li key={error.pointer}>{error.detail}</li>
            ))}
          </ul>
        )}
        {(refusal.problems ?? []).length > 0 && (
          <ul>
            {refusal.problems?.map((sentence) => (
              <li key={sentence}>{sentence}</li>
            ))}
          </ul>
        )}
        <FindingList findings={refusal.findings ?? []} notes={false} />
      </div>
    </div>
  );
}

interface Verdict {
  level: Level;
  word: string;
  status?: boolean;
  // Beside the word.
  children?: ComponentChildren;
}

export const VerdictWord = ({ level, word, status, children }: Verdict): JSX.Element => (
  <p class="verdict-word" role={status ? 'status' : undefined}>
    <Shape level={level} />
    <b>{word}</b>
    {children && <span class="quiet">{children}</span>}
  </p>
);

export const Said = ({ text }: { text: string }): JSX.Element | null =>
  text ? <p class="said">{text}</p> : null;

// What a refusal says about one field.
export const saidAbout = (refusal: Refusal | null, pointer: string): string =>
  refusal?.errors?.find((error) => error.pointer === pointer)?.detail ??
  (refusal?.pointer === pointer ? refusal.detail : '');
