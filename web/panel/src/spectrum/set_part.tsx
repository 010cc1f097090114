// SPDX-License-Identifier: Apache-2.0
// The settings that show in the picture, as fields: what handles do, and the choice of a filter.
import type { JSX } from 'preact';
import type { Allowed, Settings } from '../api/types';
import { decibels, megahertz, megahertzShort } from '../model/format';
import { snap } from '../model/settings';
import type { Refusal } from '../ui/act';
import { ChoiceField } from '../ui/fields';
import { saidAbout } from '../ui/findings';
import { NumberField } from '../ui/number_field';

interface Props {
  settings: Settings;
  allowed: Allowed | null;
  refusal: Refusal | null;
  disabled: boolean;
  onEdit: (changed: Partial<Settings>) => void;
}

export function SetPart({ settings, allowed, refusal, disabled, onEdit }: Props): JSX.Element {
  const filter = allowed?.filters.find(({ name }) => name === settings.filter);
  const choices = allowed?.filters.map(({ name, passband_mhz, width_mhz }) => ({
    value: name,
    title: passband_mhz
      ? `${name}: ${passband_mhz.map(megahertzShort).join(' – ')} MHz, fixed`
      : `${name}: ${megahertzShort(width_mhz)} MHz wide`,
  })) ?? [{ value: settings.filter, title: settings.filter }];
  return (
    <>
      <ChoiceField
        title="Filter"
        value={settings.filter}
        choices={choices}
        wrong={saidAbout(refusal, '/filter')}
        disabled={disabled || choices.length < 2}
        onChoose={(name) => {
          const steps = allowed?.filters.find((one) => one.name === name)?.centre_mhz;
          // A centre that the new filter cannot have goes to the nearest that it can.
          onEdit(
            steps
              ? { filter: name, centre_mhz: snap(settings.centre_mhz ?? steps.lowest, steps) }
              : { filter: name },
          );
        }}
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
    </>
  );
}
