// SPDX-License-Identifier: Apache-2.0
// From where a preview starts: from where the rack is, or from any other segment.
import type { JSX } from 'preact';
import { useId } from 'preact/hooks';
import { Row } from '../ui/fields';

interface Props {
  to: string;
  // Empty: from where the rack is, as its nodes are now.
  from: string;
  segments: readonly { name: string; title: string }[];
  onFrom: (segment: string) => void;
}

export function FromField({ to, from, segments, onFrom }: Props): JSX.Element | null {
  const id = useId();
  const others = segments.filter(({ name }) => name !== to);
  if (others.length === 0) return null;
  return (
    <Row title="Look at the way from" id={id}>
      <select id={id} value={from} onChange={(event) => onFrom(event.currentTarget.value)}>
        <option value="">where the rack is now</option>
        {others.map(({ name, title }) => (
          <option key={name} value={name}>
            {title}
          </option>
        ))}
      </select>
    </Row>
  );
}
