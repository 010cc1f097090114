// SPDX-License-Identifier: Apache-2.0
// Beside the picture: what is wrong with the node, its settings that show in the picture, as fields,
// and the press that sends them.
import type { JSX } from 'preact';
import type { Settings, Supposed } from '../api/types';
import { toNode } from '../browser/route';
import { CommitBar } from '../edit/commit_bar';
import { nodeInHand } from '../edit/in_hand';
import { CentreField, FilterField, GainField, NothingToSet } from '../edit/setting_fields';
import type { Editing } from '../edit/use_editing';
import type { HeardNode } from '../feed/state';
import { levelOf } from '../model/condition';
import type { Acting } from '../ui/act';
import { RefusalText, Said } from '../ui/findings';
import { Troubles } from '../ui/troubles';
import type { Following } from '../ui/use_answer';

interface Props {
  node: HeardNode;
  editing: Editing;
  // Null: they may not even be tried out.
  settings: Settings | null;
  supposed: Following<Supposed>;
  acting: Acting;
  disabled: boolean;
}

export function BesidePicture(props: Props): JSX.Element {
  const { node, editing, settings, supposed, acting, disabled } = props;
  const { draft, allowed, change } = editing;
  const fields = settings && {
    settings,
    allowed: allowed.answer,
    refusal: supposed.refusal ?? acting.refusal,
    disabled,
    onEdit: change,
  };
  return (
    <aside class="beside-picture" aria-label={`Settings of ${node.name}`}>
      {levelOf(node) !== 'calm' && <Troubles node={node} />}
      {node.agreement === 'drifted' && (
        <p class="quiet">
          The picture has what it shows. An edit starts from what is wanted; to adopt what it shows,
          open the node.
        </p>
      )}
      <NothingToSet node={node} />
      {fields && (
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
      {!draft && <Said text={acting.done} />}
      {draft && (
        <CommitBar
          key={node.name}
          inHand={nodeInHand(node, draft)}
          verdict={supposed}
          acting={acting}
        />
      )}
    </aside>
  );
}
