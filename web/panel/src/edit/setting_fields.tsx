// SPDX-License-Identifier: Apache-2.0
// The settings of a node, a field each.
import type { JSX } from 'preact';
import { useId } from 'preact/hooks';
import type { Allowed, Settings } from '../api/types';
import { decibels, megahertz, megahertzShort } from '../model/format';
import { snap } from '../model/settings';
import type { Refusal } from '../ui/act';
import { ChoiceField, TextField } from '../ui/fields';
import { saidAbout } from '../ui/findings';
import type { HeardNode } from '../feed/state';
import { NumberField } from '../ui/number_field';
import { isTheirs } from './use_editing';

interface Props {
  settings: Settings;
  allowed: Allowed | null;
  refusal: Refusal | null;
  disabled: boolean;
  onEdit: (changed: Partial<Settings>) => void;
}

const filterOf = (allowed: Allowed | null, name: string): Allowed['filters'][number] | undefined =>
  allowed?.filters.find((filter) => filter.name === name);

export function GainField({ settings, allowed, refusal, disabled, onEdit }: Props): JSX.Element {
  return (
    <NumberField
      title="Gain"
      unit="dB"
      value={settings.gain_db}
      steps={allowed?.gain_db}
      format={decibels}
      wrong={saidAbout(refusal, '/gain_db')}
      disabled={disabled}
      onInput={(gain_db) => onEdit({ gain_db })}
    />
  );
}

function filterTitle({ name, passband_mhz, width_mhz }: Allowed['filters'][number]): string {
  if (passband_mhz) return `${name}: ${passband_mhz.map(megahertzShort).join(' – ')} MHz, fixed`;
  return width_mhz === undefined ? name : `${name}: ${megahertzShort(width_mhz)} MHz wide`;
}

export function FilterField({ settings, allowed, refusal, disabled, onEdit }: Props): JSX.Element {
  const choices = allowed?.filters.map((filter) => ({
    value: filter.name,
    title: filterTitle(filter),
  })) ?? [{ value: settings.filter, title: settings.filter }];
  const choose = (filter: string): void => {
    // A centre that the new filter cannot have goes to the nearest that it can.
    const steps = filterOf(allowed, filter)?.centre_mhz;
    const centre = steps && snap(settings.centre_mhz ?? steps.lowest, steps);
    onEdit(centre === undefined ? { filter } : { filter, centre_mhz: centre });
  };
  return (
    <ChoiceField
      title="Filter"
      value={settings.filter}
      choices={choices}
      wrong={saidAbout(refusal, '/filter')}
      disabled={disabled || choices.length < 2}
      onInput={choose}
    />
  );
}

// Nothing where the filter is fixed.
export function CentreField(props: Props): JSX.Element | null {
  const { settings, allowed, refusal, disabled, onEdit } = props;
  const filter = filterOf(allowed, settings.filter);
  if (settings.centre_mhz === undefined || filter?.passband_mhz) return null;
  return (
    <NumberField
      title="Centre"
      unit="MHz"
      value={settings.centre_mhz}
      steps={filter?.centre_mhz}
      coarse={1}
      format={megahertz}
      wrong={saidAbout(refusal, '/centre_mhz')}
      disabled={disabled}
      onInput={(centre_mhz) => onEdit({ centre_mhz })}
    />
  );
}

export function LabelField({ settings, allowed, refusal, disabled, onEdit }: Props): JSX.Element {
  const longest = allowed?.label_longest ?? 16;
  const bytes = new TextEncoder().encode(settings.label).length;
  const tooLong =
    bytes > longest ? `The label has ${bytes} bytes; allowed are ${longest}.` : undefined;
  return (
    <TextField
      title="Label on the node"
      allowed={`${bytes} of ${longest} bytes`}
      value={settings.label}
      wrong={saidAbout(refusal, '/label') || tooLong}
      disabled={disabled}
      onInput={(label) => onEdit({ label })}
    />
  );
}

export const NothingToSet = ({ node }: { node: HeardNode }): JSX.Element | null =>
  isTheirs(node) ? (
    <p class="theirs">
      Another controller has it: {node.seen ? 'it is shown as it is seen' : 'it was not read yet'},
      and nothing is set from here.
    </p>
  ) : node.wanted ? null : (
    <p class="none">It has never been read, so nothing is wanted of it yet.</p>
  );

export function PowerField({ settings, allowed, disabled, onEdit }: Props): JSX.Element {
  const id = useId();
  return (
    <div class="field wide">
      <div class="field-head">
        <label for={id}>Amplifier</label>
      </div>
      <label class="toggle">
        <input
          id={id}
          type="checkbox"
          role="switch"
          checked={settings.power}
          disabled={disabled || allowed?.power.length === 1}
          onChange={(event) => onEdit({ power: event.currentTarget.checked })}
        />
        <span>{settings.power ? 'on' : 'off: a plain passive antenna'}</span>
      </label>
      <p class="care">
        The coax may carry DC for the amplifier. Know what else hangs on this cable before you plug
        or unplug it. Mains work is for licensed electricians; local codes come first.
      </p>
    </div>
  );
}
