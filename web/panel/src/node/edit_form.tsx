// SPDX-License-Identifier: Apache-2.0
// The settings of a node as fields.
import type { JSX } from 'preact';
import { useId } from 'preact/hooks';
import type { Allowed, Settings } from '../api/types';
import { decibels, megahertz, megahertzShort } from '../model/format';
import { snap } from '../model/settings';
import type { Refusal } from '../ui/act';
import { ChoiceField, TextField } from '../ui/fields';
import { saidAbout } from '../ui/findings';
import { NumberField } from '../ui/number_field';

interface Props {
  settings: Settings;
  allowed: Allowed | null;
  refusal: Refusal | null;
  disabled: boolean;
  onEdit: (changed: Partial<Settings>) => void;
}

const bytesOf = (text: string): number => new TextEncoder().encode(text).length;

function filterTitle(filter: Allowed['filters'][number]): string {
  if (filter.passband_mhz)
    return `${filter.name}: ${filter.passband_mhz.map(megahertzShort).join(' – ')} MHz, fixed`;
  return filter.width_mhz === undefined
    ? filter.name
    : `${filter.name}: ${megahertzShort(filter.width_mhz)} MHz wide`;
}

export function EditForm({ settings, allowed, refusal, disabled, onEdit }: Props): JSX.Element {
  const power = useId();
  const filter = allowed?.filters.find(({ name }) => name === settings.filter);
  const filters = allowed?.filters.map((one) => ({ value: one.name, title: filterTitle(one) })) ?? [
    { value: settings.filter, title: settings.filter },
  ];
  const chooseFilter = (name: string): void => {
    const next = allowed?.filters.find((one) => one.name === name);
    // A centre that the new filter cannot have goes to the nearest that it can.
    const centre =
      next?.centre_mhz && snap(settings.centre_mhz ?? next.centre_mhz.lowest, next.centre_mhz);
    onEdit(centre === undefined ? { filter: name } : { filter: name, centre_mhz: centre });
  };
  const longest = allowed?.label_longest ?? 16;
  const labelBytes = bytesOf(settings.label);
  return (
    <>
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
      <ChoiceField
        title="Filter"
        value={settings.filter}
        choices={filters}
        wrong={saidAbout(refusal, '/filter')}
        disabled={disabled || filters.length < 2}
        onChoose={chooseFilter}
      />
      {settings.centre_mhz !== undefined && !filter?.passband_mhz && (
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
      )}
      <TextField
        title="Label on the node"
        allowed={`${labelBytes} of ${longest} bytes`}
        value={settings.label}
        wrong={
          saidAbout(refusal, '/label') ||
          (labelBytes > longest
            ? `The label has ${labelBytes} bytes; allowed are ${longest}.`
            : undefined)
        }
        disabled={disabled}
        onInput={(label) => onEdit({ label })}
      />
      <div class="field wide">
        <div class="field-head">
          <label for={power}>Amplifier</label>
        </div>
        <label class="toggle">
          <input
            id={power}
            type="checkbox"
            role="switch"
            checked={settings.power}
            disabled={disabled || allowed?.power.length === 1}
            onChange={(event) => onEdit({ power: event.currentTarget.checked })}
          />
          <span>{settings.power ? 'on' : 'off: a plain passive antenna'}</span>
        </label>
        <p class="care">
          The coax may carry DC for the amplifier. Know what else hangs on this cable before you
          plug or unplug it. Mains work is for licensed electricians; local codes come first.
        </p>
      </div>
    </>
  );
}
