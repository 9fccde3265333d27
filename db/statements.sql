-- Written by `python -m credits.store.schema` from credits/store/tables*.py.
-- select characters
SELECT characters.position, characters.character, characters.name, characters.silent, characters.note FROM characters ORDER BY characters.position
-- insert characters
INSERT INTO characters (character, name, silent, note, character_key) VALUES (?, ?, ?, ?, ?)
-- update characters
UPDATE characters SET name=?, silent=?, note=? WHERE characters.position = ?
-- select crafts
SELECT crafts.position, crafts.craft, crafts.name, crafts.department, crafts.kind, crafts.footage, crafts.heading FROM crafts ORDER BY crafts.position
-- insert crafts
INSERT INTO crafts (craft, name, department, kind, footage, heading, craft_key) VALUES (?, ?, ?, ?, ?, ?, ?)
-- update crafts
UPDATE crafts SET name=?, department=?, kind=?, footage=?, heading=? WHERE crafts.position = ?
-- select cut_versions
SELECT cut_versions.version, cut_versions.source, cut_versions.length, cut_versions.brought_in_on FROM cut_versions ORDER BY cut_versions.version
-- insert cut_versions
INSERT INTO cut_versions (version, source, length, brought_in_on) VALUES (?, ?, ?, ?)
-- select history
SELECT history.position, history.table_name, history.code, history.verb, history.old_row, history.new_row, history.changed_at FROM history ORDER BY history.position
-- select log
SELECT log.one, log.origin, log.made_on FROM log ORDER BY log.one
-- insert log
INSERT INTO log (origin, made_on) VALUES (?, ?)
-- select people
SELECT people.position, people.person, people.credit_name, people.sort_name, people.legal_name, people.email, people.isni, people.credit_wish, people.name_confirmed_on, people.same_as, people.note FROM people ORDER BY people.position
-- insert people
INSERT INTO people (person, credit_name, sort_name, legal_name, email, isni, credit_wish, name_confirmed_on, same_as, note, person_key) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
-- update people
UPDATE people SET credit_name=?, sort_name=?, legal_name=?, email=?, isni=?, credit_wish=?, name_confirmed_on=?, same_as=?, note=? WHERE people.position = ?
-- select sequences
SELECT sequences.position, sequences.sequence, sequences.name FROM sequences ORDER BY sequences.position
-- insert sequences
INSERT INTO sequences (sequence, name, sequence_key) VALUES (?, ?, ?)
-- update sequences
UPDATE sequences SET name=? WHERE sequences.position = ?
-- select settlements
SELECT settlements.position, settlements.check_name, settlements.subjects, settlements.facts, settlements.settled_at, settlements.why, settlements.settled_by, settlements.taken_back FROM settlements ORDER BY settlements.position
-- insert settlements
INSERT INTO settlements (check_name, subjects, facts, settled_at, why, settled_by, taken_back) VALUES (?, ?, ?, ?, ?, ?, ?)
-- select stages
SELECT stages.position, stages.stage, stages.unit FROM stages ORDER BY stages.position
-- insert stages
INSERT INTO stages (stage, unit, stage_key) VALUES (?, ?, ?)
-- update stages
UPDATE stages SET unit=? WHERE stages.position = ?
-- select confirmations
SELECT confirmations.position, confirmations.person, confirmations.name, confirmations.confirmed_on, confirmations.is_right, confirmations.confirmed_by, confirmations.written_at FROM confirmations ORDER BY confirmations.position
-- insert confirmations
INSERT INTO confirmations (person, name, confirmed_on, is_right, confirmed_by, written_at) VALUES (?, ?, ?, ?, ?, ?)
-- select cut_clips
SELECT cut_clips.position, cut_clips.version, cut_clips.clip_order, cut_clips.film_first, cut_clips.shown, cut_clips.shot, cut_clips.take, cut_clips.source_first, cut_clips.source_last, cut_clips.speed FROM cut_clips ORDER BY cut_clips.position
-- insert cut_clips
INSERT INTO cut_clips (version, clip_order, film_first, shown, shot, take, source_first, source_last, speed) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)
-- select cut_uses
SELECT cut_uses.position, cut_uses.version, cut_uses.used_at FROM cut_uses ORDER BY cut_uses.position
-- insert cut_uses
INSERT INTO cut_uses (version, used_at) VALUES (?, ?)
-- select engagements
SELECT engagements.position, engagements.person, engagements.department, engagements.job_title, engagements.starts_on, engagements.ends_on, engagements.guaranteed_heading, engagements.billing_number FROM engagements ORDER BY engagements.position
-- insert engagements
INSERT INTO engagements (person, department, job_title, starts_on, ends_on, guaranteed_heading, billing_number) VALUES (?, ?, ?, ?, ?, ?, ?)
-- update engagements
UPDATE engagements SET department=?, job_title=?, starts_on=?, ends_on=?, guaranteed_heading=?, billing_number=? WHERE engagements.position = ?
-- select parts
SELECT parts.position, parts.part, parts.kind, parts.character, parts.note FROM parts ORDER BY parts.position
-- insert parts
INSERT INTO parts (part, kind, character, note, part_key) VALUES (?, ?, ?, ?, ?)
-- update parts
UPDATE parts SET kind=?, character=?, note=? WHERE parts.position = ?
-- select proofs
SELECT proofs.number, proofs.saved_at, proofs.saved_by, proofs.note, proofs.plan_text, proofs.cut, proofs.last_line, proofs.log_lines, proofs.changes, proofs.lines, proofs.people, proofs.content FROM proofs ORDER BY proofs.number
-- insert proofs
INSERT INTO proofs (number, saved_at, saved_by, note, plan_text, cut, last_line, log_lines, changes, lines, people, content) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
-- select puppets
SELECT puppets.position, puppets.puppet, puppets.character, puppets.copy, puppets.scale, puppets.ready_on, puppets.retired_on, puppets.note FROM puppets ORDER BY puppets.position
-- insert puppets
INSERT INTO puppets (puppet, character, copy, scale, ready_on, retired_on, note, puppet_key) VALUES (?, ?, ?, ?, ?, ?, ?, ?)
-- update puppets
UPDATE puppets SET character=?, copy=?, scale=?, ready_on=?, retired_on=?, note=? WHERE puppets.position = ?
-- select shots
SELECT shots.position, shots.shot, shots.sequence, shots.frames, shots.status, shots.description FROM shots ORDER BY shots.position
-- insert shots
INSERT INTO shots (shot, sequence, frames, status, description, shot_key) VALUES (?, ?, ?, ?, ?, ?)
-- update shots
UPDATE shots SET sequence=?, frames=?, status=?, description=? WHERE shots.position = ?
-- select entries
SELECT entries.line, entries.origin, entries.number, entries.verb, entries.logged_at, entries.craft, entries.person, entries.character, entries.puppet, entries.part, entries.sequence, entries.shot, entries.take, entries.frames, entries.poses_on, entries.share, entries.started_on, entries.finished_on, entries.minutes, entries.wait_minutes, entries.stage, entries.note, entries.private, entries.corrects_origin, entries.corrects_number, entries.logged_by, entries.why, entries.ref, entries.source FROM entries ORDER BY entries.line
-- insert entries
INSERT INTO entries (origin, number, verb, logged_at, craft, person, character, puppet, part, sequence, shot, take, frames, poses_on, share, started_on, finished_on, minutes, wait_minutes, stage, note, private, corrects_origin, corrects_number, logged_by, why, ref, source) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
-- select fittings
SELECT fittings.position, fittings.part, fittings.puppet, fittings.from_on, fittings.to_on FROM fittings ORDER BY fittings.position
-- insert fittings
INSERT INTO fittings (part, puppet, from_on, to_on) VALUES (?, ?, ?, ?)
-- update fittings
UPDATE fittings SET puppet=?, from_on=?, to_on=? WHERE fittings.position = ?
-- select replacements
SELECT replacements.position, replacements.shot, replacements.take, replacements.character, replacements.part, replacements.frames FROM replacements ORDER BY replacements.position
-- insert replacements
INSERT INTO replacements (shot, take, character, part, frames) VALUES (?, ?, ?, ?, ?)
-- update replacements
UPDATE replacements SET take=?, character=?, part=?, frames=? WHERE replacements.position = ?
-- select takes
SELECT takes.position, takes.shot, takes.take, takes.purpose, takes.decision, takes.decided_on FROM takes ORDER BY takes.position
-- insert takes
INSERT INTO takes (shot, take, purpose, decision, decided_on) VALUES (?, ?, ?, ?, ?)
-- update takes
UPDATE takes SET take=?, purpose=?, decision=?, decided_on=? WHERE takes.position = ?
-- delete replacements
DELETE FROM replacements WHERE replacements.position = ?
