// SPDX-License-Identifier: Apache-2.0
// The settings of a node as fields. Enter does what the button below does.
import type { JSX, RefObject } from 'preact';
import {
  CentreField,
  FilterField,
  GainField,
  LabelField,
  NothingToSet,
  PowerField,
} from '../edit/setting_fields';
import { isTheirs, type Editing } from '../edit/use_editing';
import type { HeardNode } from '../feed/state';
import { live } from '../feed/store';
import { may } from '../session/session';
import type { Acting, Refusal } from '../ui/act';
import { Said } from '../ui/findings';

interface Props {
  node: HeardNode;
  editing: Editing;
  // What the daemon says against the edits.
  refusal: Refusal | null;
  acting: Acting;
  place: RefObject<HTMLElement>;
}

export function SettingsSection({ node, editing, refusal, acting, place }: Props): JSX.Element {
  const { draft, allowed, change } = editing;
  const theirs = isTheirs(node);
  const settings = theirs ? node.seen?.settings : (draft?.settings ?? node.wanted);
  const fields = settings && {
    settings,
    allowed: allowed.answer,
    refusal: refusal ?? acting.refusal,
    disabled: theirs || !live.value || !may('POST /nodes/{node}/what-if') || acting.busy,
    onEdit: change,
  };
  const send = (): void =>
    place.current?.parentElement
      ?.querySelector<HTMLButtonElement>('.commit > .buttons .button.main:not(:disabled)')
      ?.click();
  return (
    <section class="part form" aria-label="Settings" ref={place}>
      <h2>
        Settings{' '}
        <span class="quiet">
          {theirs ? 'as seen' : draft ? 'edited here, not sent' : 'as wanted'}
        </span>
      </h2>
      <NothingToSet node={node} />
      {fields && (
        <form
          class="settings"
          onSubmit={(event) => {
            event.preventDefault();
            send();
          }}
        >
          <GainField {...fields} />
          <FilterField {...fields} />
          <CentreField {...fields} />
          <LabelField {...fields} />
          <PowerField {...fields} />
          <button type="submit" class="unseen" tabIndex={-1} aria-hidden="true" />
        </form>
      )}
      {!draft && <Said text={acting.done} />}
    </section>
  );
}
