"""The log, its reference tables, their history, the cuts.

Revision ID: 0001
Revises:
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0001"
down_revision: str | None = None
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "characters",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("character", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("silent", sa.Integer(), nullable=False),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("character_key", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(trim(character)) > 0", name=op.f("ck_characters_the_character_has_a_code")
        ),
        sa.CheckConstraint(
            "length(trim(name)) > 0", name=op.f("ck_characters_the_character_has_a_name")
        ),
        sa.CheckConstraint("silent IN (0, 1)", name=op.f("ck_characters_silent_is_yes_or_no")),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_characters")),
        sa.UniqueConstraint("character", name=op.f("uq_characters_character")),
        sa.UniqueConstraint("character_key", name=op.f("uq_characters_character_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "crafts",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("craft", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("department", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("footage", sa.Integer(), nullable=False),
        sa.Column("heading", sa.Text(), nullable=True),
        sa.Column("craft_key", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "kind IN ('performance', 'build')",
            name=op.f("ck_crafts_the_kind_is_performance_or_build"),
        ),
        sa.CheckConstraint("footage IN (0, 1)", name=op.f("ck_crafts_footage_is_yes_or_no")),
        sa.CheckConstraint("length(trim(craft)) > 0", name=op.f("ck_crafts_the_craft_has_a_code")),
        sa.CheckConstraint(
            "length(trim(name)) > 0 AND length(trim(department)) > 0",
            name=op.f("ck_crafts_the_craft_has_a_name_and_a_department"),
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_crafts")),
        sa.UniqueConstraint("craft", name=op.f("uq_crafts_craft")),
        sa.UniqueConstraint("craft_key", name=op.f("uq_crafts_craft_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "cut_versions",
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("length", sa.Integer(), nullable=False),
        sa.Column("brought_in_on", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "brought_in_on IS date(brought_in_on)",
            name=op.f("ck_cut_versions_brought_in_on_is_a_date"),
        ),
        sa.CheckConstraint(
            "length >= 0", name=op.f("ck_cut_versions_the_length_of_the_cut_is_not_negative")
        ),
        sa.CheckConstraint("version >= 1", name=op.f("ck_cut_versions_the_version_counts_from_1")),
        sa.PrimaryKeyConstraint("version", name=op.f("pk_cut_versions")),
        sqlite_strict=True,
    )
    op.create_table(
        "history",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("table_name", sa.Text(), nullable=False),
        sa.Column("code", sa.Text(), nullable=False),
        sa.Column("verb", sa.Text(), nullable=False),
        sa.Column("old_row", sa.Text(), nullable=True),
        sa.Column("new_row", sa.Text(), nullable=True),
        sa.Column("changed_at", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "verb IN ('insert', 'update', 'delete')",
            name=op.f("ck_history_the_verb_is_insert_update_or_delete"),
        ),
        sa.CheckConstraint(
            "length(trim(table_name)) > 0", name=op.f("ck_history_the_change_names_a_table")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_history")),
        sqlite_strict=True,
    )
    op.create_index(op.f("ix_history_code"), "history", ["code"], unique=False)
    op.create_index(op.f("ix_history_table_name"), "history", ["table_name"], unique=False)
    op.create_table(
        "log",
        sa.Column("one", sa.Integer(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("made_on", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "origin GLOB '[A-Z]*' AND origin NOT GLOB '*[^A-Z]*'",
            name=op.f("ck_log_the_origin_is_letters"),
        ),
        sa.CheckConstraint("made_on IS date(made_on)", name=op.f("ck_log_made_on_is_a_date")),
        sa.CheckConstraint("one = 1", name=op.f("ck_log_a_log_has_one_row")),
        sa.PrimaryKeyConstraint("one", name=op.f("pk_log")),
        sqlite_strict=True,
    )
    op.create_table(
        "people",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("credit_name", sa.Text(), nullable=False),
        sa.Column("sort_name", sa.Text(), nullable=True),
        sa.Column("legal_name", sa.Text(), nullable=True),
        sa.Column("email", sa.Text(), nullable=True),
        sa.Column("isni", sa.Text(), nullable=True),
        sa.Column("credit_wish", sa.Text(), nullable=False),
        sa.Column("name_confirmed_on", sa.Text(), nullable=True),
        sa.Column("same_as", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("person_key", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "credit_wish IN ('credited', 'uncredited')",
            name=op.f("ck_people_the_credit_wish_is_credited_or_uncredited"),
        ),
        sa.CheckConstraint(
            "length(trim(credit_name)) > 0", name=op.f("ck_people_the_person_has_a_credit_name")
        ),
        sa.CheckConstraint(
            "length(trim(person)) > 0", name=op.f("ck_people_the_person_has_a_code")
        ),
        sa.CheckConstraint(
            "name_confirmed_on IS date(name_confirmed_on)",
            name=op.f("ck_people_name_confirmed_on_is_a_date"),
        ),
        sa.CheckConstraint(
            "same_as <> person", name=op.f("ck_people_nobody_is_the_same_as_themselves")
        ),
        sa.ForeignKeyConstraint(
            ["same_as"],
            ["people.person"],
            name=op.f("fk_people_same_as_people"),
            initially="DEFERRED",
            deferrable=True,
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_people")),
        sa.UniqueConstraint("person", name=op.f("uq_people_person")),
        sa.UniqueConstraint("person_key", name=op.f("uq_people_person_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "sequences",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("sequence", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("sequence_key", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(trim(sequence)) > 0", name=op.f("ck_sequences_the_sequence_has_a_code")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_sequences")),
        sa.UniqueConstraint("sequence", name=op.f("uq_sequences_sequence")),
        sa.UniqueConstraint("sequence_key", name=op.f("uq_sequences_sequence_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "stages",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("stage", sa.Text(), nullable=False),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("stage_key", sa.Text(), nullable=False),
        sa.CheckConstraint("length(trim(stage)) > 0", name=op.f("ck_stages_the_stage_has_a_code")),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_stages")),
        sa.UniqueConstraint("stage", name=op.f("uq_stages_stage")),
        sa.UniqueConstraint("stage_key", name=op.f("uq_stages_stage_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "cut_uses",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("used_at", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["version"], ["cut_versions.version"], name=op.f("fk_cut_uses_version_cut_versions")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_cut_uses")),
        sqlite_strict=True,
    )
    op.create_table(
        "engagements",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("person", sa.Text(), nullable=False),
        sa.Column("department", sa.Text(), nullable=False),
        sa.Column("job_title", sa.Text(), nullable=False),
        sa.Column("starts_on", sa.Text(), nullable=True),
        sa.Column("ends_on", sa.Text(), nullable=True),
        sa.Column("guaranteed_heading", sa.Text(), nullable=True),
        sa.Column("billing_number", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "billing_number >= 1", name=op.f("ck_engagements_the_billing_number_counts_from_1")
        ),
        sa.CheckConstraint(
            "ends_on >= starts_on", name=op.f("ck_engagements_the_engagement_ends_after_it_starts")
        ),
        sa.CheckConstraint(
            "length(trim(department)) > 0 AND length(trim(job_title)) > 0",
            name=op.f("ck_engagements_the_engagement_has_a_department_and_a_job_title"),
        ),
        sa.CheckConstraint(
            "starts_on IS date(starts_on) AND ends_on IS date(ends_on)",
            name=op.f("ck_engagements_starts_on_and_ends_on_are_dates"),
        ),
        sa.ForeignKeyConstraint(
            ["person"], ["people.person"], name=op.f("fk_engagements_person_people")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_engagements")),
        sqlite_strict=True,
    )
    op.create_table(
        "parts",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("character", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("part_key", sa.Text(), nullable=False),
        sa.CheckConstraint("length(trim(kind)) > 0", name=op.f("ck_parts_the_part_has_a_kind")),
        sa.CheckConstraint("length(trim(part)) > 0", name=op.f("ck_parts_the_part_has_a_code")),
        sa.ForeignKeyConstraint(
            ["character"], ["characters.character"], name=op.f("fk_parts_character_characters")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_parts")),
        sa.UniqueConstraint("part", name=op.f("uq_parts_part")),
        sa.UniqueConstraint("part_key", name=op.f("uq_parts_part_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "puppets",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("puppet", sa.Text(), nullable=False),
        sa.Column("character", sa.Text(), nullable=False),
        sa.Column("copy", sa.Text(), nullable=True),
        sa.Column("scale", sa.Text(), nullable=True),
        sa.Column("ready_on", sa.Text(), nullable=True),
        sa.Column("retired_on", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("puppet_key", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "length(trim(puppet)) > 0", name=op.f("ck_puppets_the_puppet_has_a_code")
        ),
        sa.CheckConstraint(
            "ready_on IS date(ready_on) AND retired_on IS date(retired_on)",
            name=op.f("ck_puppets_ready_on_and_retired_on_are_dates"),
        ),
        sa.ForeignKeyConstraint(
            ["character"], ["characters.character"], name=op.f("fk_puppets_character_characters")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_puppets")),
        sa.UniqueConstraint("puppet", name=op.f("uq_puppets_puppet")),
        sa.UniqueConstraint("puppet_key", name=op.f("uq_puppets_puppet_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "shots",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("shot", sa.Text(), nullable=False),
        sa.Column("sequence", sa.Text(), nullable=False),
        sa.Column("frames", sa.Integer(), nullable=False),
        sa.Column("status", sa.Text(), nullable=False),
        sa.Column("description", sa.Text(), nullable=True),
        sa.Column("shot_key", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "status IN ('planned', 'shooting', 'done', 'omitted')",
            name=op.f("ck_shots_the_status_is_planned_shooting_done_or_omitted"),
        ),
        sa.CheckConstraint("frames >= 1", name=op.f("ck_shots_the_shot_has_at_least_1_frame")),
        sa.CheckConstraint("length(trim(shot)) > 0", name=op.f("ck_shots_the_shot_has_a_code")),
        sa.ForeignKeyConstraint(
            ["sequence"], ["sequences.sequence"], name=op.f("fk_shots_sequence_sequences")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_shots")),
        sa.UniqueConstraint("shot", name=op.f("uq_shots_shot")),
        sa.UniqueConstraint("shot_key", name=op.f("uq_shots_shot_key")),
        sqlite_strict=True,
    )
    op.create_table(
        "cut_clips",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("clip_order", sa.Integer(), nullable=False),
        sa.Column("film_first", sa.Integer(), nullable=False),
        sa.Column("shown", sa.Integer(), nullable=False),
        sa.Column("shot", sa.Text(), nullable=False),
        sa.Column("take", sa.Integer(), nullable=True),
        sa.Column("source_first", sa.Integer(), nullable=False),
        sa.Column("source_last", sa.Integer(), nullable=False),
        sa.Column("speed", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "speed <> '' AND speed NOT GLOB '*[^-0-9/]*'",
            name=op.f("ck_cut_clips_the_speed_is_a_number"),
        ),
        sa.CheckConstraint(
            "film_first >= 1", name=op.f("ck_cut_clips_the_film_counts_from_frame_1")
        ),
        sa.CheckConstraint("shown >= 1", name=op.f("ck_cut_clips_the_clip_shows_at_least_1_frame")),
        sa.CheckConstraint(
            "speed = '0' OR source_last >= source_first",
            name=op.f("ck_cut_clips_the_source_frames_run_forward"),
        ),
        sa.CheckConstraint("take >= 1", name=op.f("ck_cut_clips_the_take_counts_from_1")),
        sa.ForeignKeyConstraint(
            ["version"], ["cut_versions.version"], name=op.f("fk_cut_clips_version_cut_versions")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_cut_clips")),
        sa.UniqueConstraint("version", "clip_order", name=op.f("uq_cut_clips_version_clip_order")),
        sqlite_strict=True,
    )
    op.create_table(
        "entries",
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("origin", sa.Text(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("verb", sa.Text(), nullable=False),
        sa.Column("logged_at", sa.Text(), nullable=False),
        sa.Column("craft", sa.Text(), nullable=True),
        sa.Column("person", sa.Text(), nullable=True),
        sa.Column("character", sa.Text(), nullable=True),
        sa.Column("puppet", sa.Text(), nullable=True),
        sa.Column("part", sa.Text(), nullable=True),
        sa.Column("sequence", sa.Text(), nullable=True),
        sa.Column("shot", sa.Text(), nullable=True),
        sa.Column("take", sa.Integer(), nullable=True),
        sa.Column("frames", sa.Text(), nullable=True),
        sa.Column("poses_on", sa.Integer(), nullable=True),
        sa.Column("share", sa.Text(), nullable=True),
        sa.Column("started_on", sa.Text(), nullable=True),
        sa.Column("finished_on", sa.Text(), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.Column("wait_minutes", sa.Integer(), nullable=True),
        sa.Column("stage", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=True),
        sa.Column("private", sa.Integer(), nullable=False),
        sa.Column("corrects_origin", sa.Text(), nullable=True),
        sa.Column("corrects_number", sa.Integer(), nullable=True),
        sa.Column("logged_by", sa.Text(), nullable=True),
        sa.Column("why", sa.Text(), nullable=True),
        sa.Column("ref", sa.Text(), nullable=True),
        sa.Column("source", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "(verb = 'record') = (corrects_number IS NULL)"
            " AND (corrects_origin IS NULL) = (corrects_number IS NULL)",
            name=op.f(
                "ck_entries_a_record_corrects_no_line_and_an_amend_or_void_names_the_line_it_corrects"
            ),
        ),
        sa.CheckConstraint(
            "frames <> ''", name=op.f("ck_entries_the_entry_names_frames_or_leaves_them_empty")
        ),
        sa.CheckConstraint(
            "origin GLOB '[A-Z]*' AND origin NOT GLOB '*[^A-Z]*'",
            name=op.f("ck_entries_the_origin_is_letters"),
        ),
        sa.CheckConstraint(
            "share GLOB '[1-9]*' AND share NOT GLOB '*[^0-9/]*'",
            name=op.f("ck_entries_the_share_is_a_positive_number"),
        ),
        sa.CheckConstraint(
            "verb <> 'void' OR (coalesce(craft, person, character, puppet, part, sequence, shot, "
            "take, frames, poses_on, share, started_on, finished_on, minutes, wait_minutes, stage, "
            "note) IS NULL AND private = 0)",
            name=op.f("ck_entries_a_void_carries_no_work"),
        ),
        sa.CheckConstraint(
            "verb = 'void' OR (craft IS NOT NULL AND person IS NOT NULL)",
            name=op.f("ck_entries_a_record_or_amend_names_a_craft_and_a_person"),
        ),
        sa.CheckConstraint(
            "verb IN ('record', 'amend', 'void')",
            name=op.f("ck_entries_the_verb_is_record_amend_or_void"),
        ),
        sa.CheckConstraint(
            "corrects_origin <> origin OR corrects_number < number",
            name=op.f("ck_entries_a_line_corrects_an_earlier_line"),
        ),
        sa.CheckConstraint(
            "finished_on >= started_on",
            name=op.f("ck_entries_the_work_is_finished_after_it_is_started"),
        ),
        sa.CheckConstraint("minutes >= 0", name=op.f("ck_entries_the_minutes_are_not_negative")),
        sa.CheckConstraint("number >= 1", name=op.f("ck_entries_the_number_counts_from_1")),
        sa.CheckConstraint(
            "poses_on >= 1", name=op.f("ck_entries_poses_are_held_for_1_frame_or_more")
        ),
        sa.CheckConstraint("private IN (0, 1)", name=op.f("ck_entries_private_is_yes_or_no")),
        sa.CheckConstraint(
            "shot IS NOT NULL OR coalesce(take, frames) IS NULL",
            name=op.f("ck_entries_a_take_and_frames_are_of_a_shot"),
        ),
        sa.CheckConstraint(
            "started_on IS date(started_on) AND finished_on IS date(finished_on)",
            name=op.f("ck_entries_started_on_and_finished_on_are_dates"),
        ),
        sa.CheckConstraint("take >= 1", name=op.f("ck_entries_the_take_counts_from_1")),
        sa.CheckConstraint(
            "wait_minutes >= 0", name=op.f("ck_entries_the_wait_minutes_are_not_negative")
        ),
        sa.ForeignKeyConstraint(
            ["character"], ["characters.character"], name=op.f("fk_entries_character_characters")
        ),
        sa.ForeignKeyConstraint(
            ["corrects_origin", "corrects_number"],
            ["entries.origin", "entries.number"],
            name=op.f("fk_entries_corrects_origin_entries"),
        ),
        sa.ForeignKeyConstraint(["craft"], ["crafts.craft"], name=op.f("fk_entries_craft_crafts")),
        sa.ForeignKeyConstraint(["part"], ["parts.part"], name=op.f("fk_entries_part_parts")),
        sa.ForeignKeyConstraint(
            ["person"], ["people.person"], name=op.f("fk_entries_person_people")
        ),
        sa.ForeignKeyConstraint(
            ["puppet"], ["puppets.puppet"], name=op.f("fk_entries_puppet_puppets")
        ),
        sa.ForeignKeyConstraint(
            ["sequence"], ["sequences.sequence"], name=op.f("fk_entries_sequence_sequences")
        ),
        sa.ForeignKeyConstraint(["shot"], ["shots.shot"], name=op.f("fk_entries_shot_shots")),
        sa.ForeignKeyConstraint(["stage"], ["stages.stage"], name=op.f("fk_entries_stage_stages")),
        sa.PrimaryKeyConstraint("line", name=op.f("pk_entries")),
        sa.UniqueConstraint("origin", "number", name=op.f("uq_entries_origin_number")),
        sqlite_strict=True,
    )
    op.create_table(
        "fittings",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("puppet", sa.Text(), nullable=False),
        sa.Column("from_on", sa.Text(), nullable=False),
        sa.Column("to_on", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "from_on IS date(from_on) AND to_on IS date(to_on)",
            name=op.f("ck_fittings_from_on_and_to_on_are_dates"),
        ),
        sa.CheckConstraint(
            "to_on >= from_on", name=op.f("ck_fittings_the_fitting_ends_after_it_begins")
        ),
        sa.ForeignKeyConstraint(["part"], ["parts.part"], name=op.f("fk_fittings_part_parts")),
        sa.ForeignKeyConstraint(
            ["puppet"], ["puppets.puppet"], name=op.f("fk_fittings_puppet_puppets")
        ),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_fittings")),
        sa.UniqueConstraint(
            "part", "puppet", "from_on", name=op.f("uq_fittings_part_puppet_from_on")
        ),
        sqlite_strict=True,
    )
    op.create_table(
        "replacements",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("shot", sa.Text(), nullable=False),
        sa.Column("take", sa.Integer(), nullable=True),
        sa.Column("character", sa.Text(), nullable=False),
        sa.Column("part", sa.Text(), nullable=False),
        sa.Column("frames", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "frames <> ''", name=op.f("ck_replacements_the_replacement_names_frames")
        ),
        sa.CheckConstraint("take >= 1", name=op.f("ck_replacements_the_take_counts_from_1")),
        sa.ForeignKeyConstraint(
            ["character"],
            ["characters.character"],
            name=op.f("fk_replacements_character_characters"),
        ),
        sa.ForeignKeyConstraint(["part"], ["parts.part"], name=op.f("fk_replacements_part_parts")),
        sa.ForeignKeyConstraint(["shot"], ["shots.shot"], name=op.f("fk_replacements_shot_shots")),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_replacements")),
        sqlite_strict=True,
    )
    op.create_table(
        "takes",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("shot", sa.Text(), nullable=False),
        sa.Column("take", sa.Integer(), nullable=False),
        sa.Column("purpose", sa.Text(), nullable=False),
        sa.Column("decision", sa.Text(), nullable=False),
        sa.Column("decided_on", sa.Text(), nullable=True),
        sa.CheckConstraint(
            "decision IN ('open', 'accepted', 'retake')",
            name=op.f("ck_takes_the_decision_is_open_accepted_or_retake"),
        ),
        sa.CheckConstraint(
            "purpose IN ('block', 'rehearsal', 'shoot')",
            name=op.f("ck_takes_the_purpose_is_block_rehearsal_or_shoot"),
        ),
        sa.CheckConstraint(
            "decided_on IS date(decided_on)", name=op.f("ck_takes_decided_on_is_a_date")
        ),
        sa.CheckConstraint("take >= 1", name=op.f("ck_takes_the_take_counts_from_1")),
        sa.ForeignKeyConstraint(["shot"], ["shots.shot"], name=op.f("fk_takes_shot_shots")),
        sa.PrimaryKeyConstraint("position", name=op.f("pk_takes")),
        sa.UniqueConstraint("shot", "take", name=op.f("uq_takes_shot_take")),
        sqlite_strict=True,
    )
    op.create_index(
        "uq_engagements_key",
        "engagements",
        ["person", "department", "job_title", sa.text("coalesce(starts_on, '')")],
        unique=True,
    )
    op.create_index(
        "uq_replacements_key",
        "replacements",
        ["shot", sa.text("coalesce(take, 0)"), "character", "part"],
        unique=True,
    )


def downgrade() -> None:
    for table in (
        "takes",
        "replacements",
        "fittings",
        "entries",
        "cut_clips",
        "shots",
        "puppets",
        "parts",
        "engagements",
        "cut_uses",
        "stages",
        "sequences",
        "people",
        "log",
        "history",
        "cut_versions",
        "crafts",
        "characters",
    ):
        op.drop_table(table)
