BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num TEXT NOT NULL,
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0003');
CREATE TABLE characters (
	position INTEGER NOT NULL,
	character TEXT NOT NULL,
	name TEXT NOT NULL,
	silent INTEGER NOT NULL,
	note TEXT,
	character_key TEXT NOT NULL,
	CONSTRAINT pk_characters PRIMARY KEY (position),
	CONSTRAINT ck_characters_the_character_has_a_code CHECK (length(trim(character)) > 0),
	CONSTRAINT ck_characters_the_character_has_a_name CHECK (length(trim(name)) > 0),
	CONSTRAINT ck_characters_silent_is_yes_or_no CHECK (silent IN (0, 1)),
	CONSTRAINT uq_characters_character UNIQUE (character),
	CONSTRAINT uq_characters_character_key UNIQUE (character_key)
)
 STRICT;
INSERT INTO "characters" VALUES(1,'wick','Wick',0,NULL,'wick');
INSERT INTO "characters" VALUES(2,'brine','Brine',1,NULL,'brine');
CREATE TABLE confirmations (
	position INTEGER NOT NULL,
	person TEXT NOT NULL,
	name TEXT NOT NULL,
	confirmed_on TEXT NOT NULL,
	is_right INTEGER NOT NULL,
	confirmed_by TEXT,
	written_at TEXT NOT NULL,
	CONSTRAINT pk_confirmations PRIMARY KEY (position),
	CONSTRAINT ck_confirmations_the_confirmed_name_has_text CHECK (length(trim(name)) > 0),
	CONSTRAINT ck_confirmations_confirmed_on_is_a_date CHECK (confirmed_on IS date(confirmed_on)),
	CONSTRAINT ck_confirmations_is_right_is_yes_or_no CHECK (is_right IN (0, 1)),
	CONSTRAINT fk_confirmations_person_people FOREIGN KEY(person) REFERENCES people (person)
)
 STRICT;
INSERT INTO "confirmations" VALUES(1,'ana','Ana Quist','2026-03-02',1,NULL,'2026-11-26T07:58:02.637Z');
INSERT INTO "confirmations" VALUES(2,'ben','Ben Ode','2026-03-06',1,'Bo','2026-11-26T07:58:12.005138+00:00');
CREATE TABLE crafts (
	position INTEGER NOT NULL,
	craft TEXT NOT NULL,
	name TEXT NOT NULL,
	department TEXT NOT NULL,
	kind TEXT NOT NULL,
	footage INTEGER NOT NULL,
	heading TEXT,
	craft_key TEXT NOT NULL,
	CONSTRAINT pk_crafts PRIMARY KEY (position),
	CONSTRAINT ck_crafts_the_craft_has_a_code CHECK (length(trim(craft)) > 0),
	CONSTRAINT ck_crafts_the_craft_has_a_name_and_a_department CHECK (length(trim(name)) > 0 AND length(trim(department)) > 0),
	CONSTRAINT ck_crafts_the_kind_is_performance_or_build CHECK (kind IN ('performance', 'build')),
	CONSTRAINT ck_crafts_footage_is_yes_or_no CHECK (footage IN (0, 1)),
	CONSTRAINT uq_crafts_craft UNIQUE (craft),
	CONSTRAINT uq_crafts_craft_key UNIQUE (craft_key)
)
 STRICT;
INSERT INTO "crafts" VALUES(1,'voice','Voice','Voices','performance',0,NULL,'voice');
INSERT INTO "crafts" VALUES(2,'singing','Singing voice','Voices','performance',0,NULL,'singing');
INSERT INTO "crafts" VALUES(3,'track-reading','Track reading','Animation','performance',0,NULL,'track-reading');
INSERT INTO "crafts" VALUES(4,'lip-sync','Lip sync','Animation','performance',0,NULL,'lip-sync');
INSERT INTO "crafts" VALUES(5,'animation','Animation','Animation','performance',1,NULL,'animation');
INSERT INTO "crafts" VALUES(6,'animation-assist','Animation assistance','Animation','performance',0,NULL,'animation-assist');
INSERT INTO "crafts" VALUES(7,'rigging','Rigging','Rigging','performance',0,NULL,'rigging');
INSERT INTO "crafts" VALUES(8,'design','Character design','Art','build',0,NULL,'design');
INSERT INTO "crafts" VALUES(9,'maquette','Maquette sculpting','Puppets','build',0,NULL,'maquette');
INSERT INTO "crafts" VALUES(10,'sculpt','Puppet sculpting','Puppets','build',0,NULL,'sculpt');
INSERT INTO "crafts" VALUES(11,'armature','Armature making','Puppets','build',0,NULL,'armature');
INSERT INTO "crafts" VALUES(12,'mould','Mould making','Puppets','build',0,NULL,'mould');
INSERT INTO "crafts" VALUES(13,'casting','Casting','Puppets','build',0,NULL,'casting');
INSERT INTO "crafts" VALUES(14,'faces','Replacement faces','Faces','build',0,NULL,'faces');
INSERT INTO "crafts" VALUES(15,'fabrication','Puppet fabrication','Puppets','build',0,NULL,'fabrication');
INSERT INTO "crafts" VALUES(16,'costume','Costume making','Puppets','build',0,NULL,'costume');
INSERT INTO "crafts" VALUES(17,'hair','Hair and fur','Puppets','build',0,NULL,'hair');
INSERT INTO "crafts" VALUES(18,'paint','Puppet painting','Puppets','build',0,NULL,'paint');
INSERT INTO "crafts" VALUES(19,'repair','Puppet repair','Puppet hospital','build',0,NULL,'repair');
CREATE TABLE cut_clips (
	position INTEGER NOT NULL,
	version INTEGER NOT NULL,
	clip_order INTEGER NOT NULL,
	film_first INTEGER NOT NULL,
	shown INTEGER NOT NULL,
	shot TEXT NOT NULL,
	take INTEGER,
	source_first INTEGER NOT NULL,
	source_last INTEGER NOT NULL,
	speed TEXT NOT NULL,
	CONSTRAINT pk_cut_clips PRIMARY KEY (position),
	CONSTRAINT uq_cut_clips_version_clip_order UNIQUE (version, clip_order),
	CONSTRAINT ck_cut_clips_the_film_counts_from_frame_1 CHECK (film_first >= 1),
	CONSTRAINT ck_cut_clips_the_clip_shows_at_least_1_frame CHECK (shown >= 1),
	CONSTRAINT ck_cut_clips_the_take_counts_from_1 CHECK (take >= 1),
	CONSTRAINT ck_cut_clips_the_source_frames_run_forward CHECK (speed = '0' OR source_last >= source_first),
	CONSTRAINT ck_cut_clips_the_speed_is_a_number CHECK (speed <> '' AND speed NOT GLOB '*[^-0-9/]*'),
	CONSTRAINT fk_cut_clips_version_cut_versions FOREIGN KEY(version) REFERENCES cut_versions (version)
)
 STRICT;
INSERT INTO "cut_clips" VALUES(1,1,1,1,44,'010-010',2,3,46,'1');
INSERT INTO "cut_clips" VALUES(2,1,2,45,24,'010-020',1,1,12,'1/2');
CREATE TABLE cut_uses (
	position INTEGER NOT NULL,
	version INTEGER NOT NULL,
	used_at TEXT NOT NULL,
	CONSTRAINT pk_cut_uses PRIMARY KEY (position),
	CONSTRAINT fk_cut_uses_version_cut_versions FOREIGN KEY(version) REFERENCES cut_versions (version)
)
 STRICT;
INSERT INTO "cut_uses" VALUES(1,1,'2026-11-26T07:58:03.010296+00:00');
CREATE TABLE cut_versions (
	version INTEGER NOT NULL,
	source TEXT NOT NULL,
	length INTEGER NOT NULL,
	brought_in_on TEXT,
	CONSTRAINT pk_cut_versions PRIMARY KEY (version),
	CONSTRAINT ck_cut_versions_the_version_counts_from_1 CHECK (version >= 1),
	CONSTRAINT ck_cut_versions_the_length_of_the_cut_is_not_negative CHECK (length >= 0),
	CONSTRAINT ck_cut_versions_brought_in_on_is_a_date CHECK (brought_in_on IS date(brought_in_on))
)
 STRICT;
INSERT INTO "cut_versions" VALUES(1,'cut.csv',68,'2026-11-26');
CREATE TABLE engagements (
	position INTEGER NOT NULL,
	person TEXT NOT NULL,
	department TEXT NOT NULL,
	job_title TEXT NOT NULL,
	starts_on TEXT,
	ends_on TEXT,
	guaranteed_heading TEXT,
	billing_number INTEGER,
	CONSTRAINT pk_engagements PRIMARY KEY (position),
	CONSTRAINT ck_engagements_the_engagement_has_a_department_and_a_job_title CHECK (length(trim(department)) > 0 AND length(trim(job_title)) > 0),
	CONSTRAINT ck_engagements_starts_on_and_ends_on_are_dates CHECK (starts_on IS date(starts_on) AND ends_on IS date(ends_on)),
	CONSTRAINT ck_engagements_the_engagement_ends_after_it_starts CHECK (ends_on >= starts_on),
	CONSTRAINT ck_engagements_the_billing_number_counts_from_1 CHECK (billing_number >= 1),
	CONSTRAINT fk_engagements_person_people FOREIGN KEY(person) REFERENCES people (person)
)
 STRICT;
INSERT INTO "engagements" VALUES(1,'ana','Animation','Animator','2026-01-05','2026-12-18','Lead animator',1);
INSERT INTO "engagements" VALUES(2,'ben','Puppets','Puppet maker','2026-01-05',NULL,NULL,NULL);
INSERT INTO "engagements" VALUES(3,'dov','Voices','Voice',NULL,NULL,NULL,NULL);
CREATE TABLE entries (
	line INTEGER NOT NULL,
	origin TEXT NOT NULL,
	number INTEGER NOT NULL,
	verb TEXT NOT NULL,
	logged_at TEXT NOT NULL,
	craft TEXT,
	person TEXT,
	character TEXT,
	puppet TEXT,
	part TEXT,
	sequence TEXT,
	shot TEXT,
	take INTEGER,
	frames TEXT,
	poses_on INTEGER,
	share TEXT,
	started_on TEXT,
	finished_on TEXT,
	minutes INTEGER,
	wait_minutes INTEGER,
	stage TEXT,
	note TEXT,
	private INTEGER NOT NULL,
	corrects_origin TEXT,
	corrects_number INTEGER,
	logged_by TEXT,
	why TEXT,
	ref TEXT,
	source TEXT,
	CONSTRAINT pk_entries PRIMARY KEY (line),
	CONSTRAINT uq_entries_origin_number UNIQUE (origin, number),
	CONSTRAINT fk_entries_corrects_origin_entries FOREIGN KEY(corrects_origin, corrects_number) REFERENCES entries (origin, number),
	CONSTRAINT ck_entries_the_origin_is_letters CHECK (origin GLOB '[A-Z]*' AND origin NOT GLOB '*[^A-Z]*'),
	CONSTRAINT ck_entries_the_number_counts_from_1 CHECK (number >= 1),
	CONSTRAINT ck_entries_the_verb_is_record_amend_or_void CHECK (verb IN ('record', 'amend', 'void')),
	CONSTRAINT ck_entries_a_record_corrects_no_line_and_an_amend_or_void_names_the_line_it_corrects CHECK ((verb = 'record') = (corrects_number IS NULL) AND (corrects_origin IS NULL) = (corrects_number IS NULL)),
	CONSTRAINT ck_entries_a_line_corrects_an_earlier_line CHECK (corrects_origin <> origin OR corrects_number < number),
	CONSTRAINT ck_entries_a_record_or_amend_names_a_craft_and_a_person CHECK (verb = 'void' OR (craft IS NOT NULL AND person IS NOT NULL)),
	CONSTRAINT ck_entries_a_void_carries_no_work CHECK (verb <> 'void' OR (coalesce(craft, person, character, puppet, part, sequence, shot, take, frames, poses_on, share, started_on, finished_on, minutes, wait_minutes, stage, note) IS NULL AND private = 0)),
	CONSTRAINT ck_entries_the_take_counts_from_1 CHECK (take >= 1),
	CONSTRAINT ck_entries_a_take_and_frames_are_of_a_shot CHECK (shot IS NOT NULL OR coalesce(take, frames) IS NULL),
	CONSTRAINT ck_entries_the_entry_names_frames_or_leaves_them_empty CHECK (frames <> ''),
	CONSTRAINT ck_entries_poses_are_held_for_1_frame_or_more CHECK (poses_on >= 1),
	CONSTRAINT ck_entries_the_share_is_a_positive_number CHECK (share GLOB '[1-9]*' AND share NOT GLOB '*[^0-9/]*'),
	CONSTRAINT ck_entries_started_on_and_finished_on_are_dates CHECK (started_on IS date(started_on) AND finished_on IS date(finished_on)),
	CONSTRAINT ck_entries_the_work_is_finished_after_it_is_started CHECK (finished_on >= started_on),
	CONSTRAINT ck_entries_the_minutes_are_not_negative CHECK (minutes >= 0),
	CONSTRAINT ck_entries_the_wait_minutes_are_not_negative CHECK (wait_minutes >= 0),
	CONSTRAINT ck_entries_private_is_yes_or_no CHECK (private IN (0, 1)),
	CONSTRAINT fk_entries_craft_crafts FOREIGN KEY(craft) REFERENCES crafts (craft),
	CONSTRAINT fk_entries_person_people FOREIGN KEY(person) REFERENCES people (person),
	CONSTRAINT fk_entries_character_characters FOREIGN KEY(character) REFERENCES characters (character),
	CONSTRAINT fk_entries_puppet_puppets FOREIGN KEY(puppet) REFERENCES puppets (puppet),
	CONSTRAINT fk_entries_part_parts FOREIGN KEY(part) REFERENCES parts (part),
	CONSTRAINT fk_entries_sequence_sequences FOREIGN KEY(sequence) REFERENCES sequences (sequence),
	CONSTRAINT fk_entries_shot_shots FOREIGN KEY(shot) REFERENCES shots (shot),
	CONSTRAINT fk_entries_stage_stages FOREIGN KEY(stage) REFERENCES stages (stage)
)
 STRICT;
INSERT INTO "entries" VALUES(1,'A',1,'record','2026-11-26T07:58:02.637375+00:00','voice','dov','wick',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'2026-01-20',NULL,NULL,NULL,NULL,0,NULL,NULL,'office',NULL,'r1','entries.csv row 2');
INSERT INTO "entries" VALUES(2,'A',2,'record','2026-11-26T07:58:02.637375+00:00','armature','ben',NULL,NULL,'arm',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'2026-01-30',600,NULL,NULL,NULL,0,NULL,NULL,'office',NULL,'r2','entries.csv row 3');
INSERT INTO "entries" VALUES(3,'A',3,'record','2026-11-26T07:58:02.637375+00:00','fabrication','ben',NULL,'wick-1',NULL,NULL,NULL,NULL,NULL,NULL,NULL,'2026-01-12','2026-01-30',2400,NULL,NULL,NULL,0,NULL,NULL,'office',NULL,'r3','entries.csv row 4');
INSERT INTO "entries" VALUES(4,'A',4,'record','2026-11-26T07:58:02.637375+00:00','animation','ana','wick','wick-1',NULL,NULL,'010-010',1,'1-48',2,NULL,NULL,'2026-03-02',480,NULL,'S1','stopped by fog',1,NULL,NULL,'office',NULL,'r4','entries.csv row 5');
INSERT INTO "entries" VALUES(5,'A',5,'record','2026-11-26T07:58:02.637375+00:00','animation','ana','wick','wick-2',NULL,NULL,'010-010',2,'1-30',1,NULL,NULL,'2026-03-03',480,NULL,'S1',NULL,0,NULL,NULL,'office',NULL,'r5','entries.csv row 6');
INSERT INTO "entries" VALUES(6,'A',6,'record','2026-11-26T07:58:02.637375+00:00','animation','ann','wick','wick-2',NULL,NULL,'010-010',2,'31-48',1,NULL,NULL,'2026-03-04',300,NULL,'S1',NULL,0,NULL,NULL,'office',NULL,'r6','entries.csv row 7');
INSERT INTO "entries" VALUES(7,'A',7,'record','2026-11-26T07:58:02.637375+00:00','animation','cai','brine','brine-1',NULL,NULL,'010-010',2,'1-48',2,'1/2',NULL,'2026-03-04',300,NULL,'S1',NULL,0,NULL,NULL,'office',NULL,'r7','entries.csv row 8');
INSERT INTO "entries" VALUES(8,'A',8,'record','2026-11-26T07:58:02.637375+00:00','repair','ben',NULL,'wick-2','arm',NULL,'010-010',NULL,NULL,NULL,NULL,NULL,'2026-03-03',20,45,'S1','wire broke',0,NULL,NULL,'office',NULL,'r8','entries.csv row 9');
INSERT INTO "entries" VALUES(9,'A',9,'record','2026-11-26T07:58:02.637375+00:00','animation','ana','wick','wick-2',NULL,NULL,'010-020',1,'1-12',2,NULL,NULL,'2026-03-05',480,NULL,'S1',NULL,0,NULL,NULL,'office',NULL,'r9','entries.csv row 10');
INSERT INTO "entries" VALUES(10,'A',10,'amend','2026-11-26T07:58:12.813679+00:00','animation','ana','wick','wick-1',NULL,NULL,'010-010',1,'1-48',2,NULL,NULL,'2026-03-02',420,NULL,'S1','stopped by fog',1,'A',4,NULL,'left early',NULL,NULL);
INSERT INTO "entries" VALUES(11,'A',11,'void','2026-11-26T07:58:13.446622+00:00',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,0,'A',3,NULL,'twice',NULL,NULL);
INSERT INTO "entries" VALUES(12,'A',12,'record','2026-11-26T07:58:14.630037+00:00','paint','ben',NULL,'wick-1',NULL,NULL,NULL,NULL,NULL,NULL,NULL,NULL,'2026-03-06',NULL,NULL,NULL,NULL,0,NULL,NULL,NULL,NULL,NULL,NULL);
CREATE TABLE fittings (
	position INTEGER NOT NULL,
	part TEXT NOT NULL,
	puppet TEXT NOT NULL,
	from_on TEXT NOT NULL,
	to_on TEXT,
	CONSTRAINT pk_fittings PRIMARY KEY (position),
	CONSTRAINT uq_fittings_part_puppet_from_on UNIQUE (part, puppet, from_on),
	CONSTRAINT ck_fittings_from_on_and_to_on_are_dates CHECK (from_on IS date(from_on) AND to_on IS date(to_on)),
	CONSTRAINT ck_fittings_the_fitting_ends_after_it_begins CHECK (to_on >= from_on),
	CONSTRAINT fk_fittings_part_parts FOREIGN KEY(part) REFERENCES parts (part),
	CONSTRAINT fk_fittings_puppet_puppets FOREIGN KEY(puppet) REFERENCES puppets (puppet)
)
 STRICT;
INSERT INTO "fittings" VALUES(1,'arm','wick-1','2026-02-01','2026-03-03');
INSERT INTO "fittings" VALUES(2,'arm','wick-2','2026-03-04',NULL);
CREATE TABLE history (
	position INTEGER NOT NULL,
	table_name TEXT NOT NULL,
	code TEXT NOT NULL,
	verb TEXT NOT NULL,
	old_row TEXT,
	new_row TEXT,
	changed_at TEXT NOT NULL,
	CONSTRAINT pk_history PRIMARY KEY (position),
	CONSTRAINT ck_history_the_change_names_a_table CHECK (length(trim(table_name)) > 0),
	CONSTRAINT ck_history_the_verb_is_insert_update_or_delete CHECK (verb IN ('insert', 'update', 'delete'))
)
 STRICT;
INSERT INTO "history" VALUES(1,'log','A','insert',NULL,'{"origin":"A","made_on":"2026-11-26"}','2026-11-26T07:58:02.214Z');
INSERT INTO "history" VALUES(2,'crafts','voice','insert',NULL,'{"craft":"voice","name":"Voice","department":"Voices","kind":"performance","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(3,'crafts','singing','insert',NULL,'{"craft":"singing","name":"Singing voice","department":"Voices","kind":"performance","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(4,'crafts','track-reading','insert',NULL,'{"craft":"track-reading","name":"Track reading","department":"Animation","kind":"performance","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(5,'crafts','lip-sync','insert',NULL,'{"craft":"lip-sync","name":"Lip sync","department":"Animation","kind":"performance","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(6,'crafts','animation','insert',NULL,'{"craft":"animation","name":"Animation","department":"Animation","kind":"performance","footage":1,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(7,'crafts','animation-assist','insert',NULL,'{"craft":"animation-assist","name":"Animation assistance","department":"Animation","kind":"performance","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(8,'crafts','rigging','insert',NULL,'{"craft":"rigging","name":"Rigging","department":"Rigging","kind":"performance","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(9,'crafts','design','insert',NULL,'{"craft":"design","name":"Character design","department":"Art","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(10,'crafts','maquette','insert',NULL,'{"craft":"maquette","name":"Maquette sculpting","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(11,'crafts','sculpt','insert',NULL,'{"craft":"sculpt","name":"Puppet sculpting","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(12,'crafts','armature','insert',NULL,'{"craft":"armature","name":"Armature making","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(13,'crafts','mould','insert',NULL,'{"craft":"mould","name":"Mould making","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(14,'crafts','casting','insert',NULL,'{"craft":"casting","name":"Casting","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(15,'crafts','faces','insert',NULL,'{"craft":"faces","name":"Replacement faces","department":"Faces","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(16,'crafts','fabrication','insert',NULL,'{"craft":"fabrication","name":"Puppet fabrication","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(17,'crafts','costume','insert',NULL,'{"craft":"costume","name":"Costume making","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(18,'crafts','hair','insert',NULL,'{"craft":"hair","name":"Hair and fur","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(19,'crafts','paint','insert',NULL,'{"craft":"paint","name":"Puppet painting","department":"Puppets","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(20,'crafts','repair','insert',NULL,'{"craft":"repair","name":"Puppet repair","department":"Puppet hospital","kind":"build","footage":0,"heading":null}','2026-11-26T07:58:02.215Z');
INSERT INTO "history" VALUES(21,'people','ana','insert',NULL,'{"person":"ana","credit_name":"Ana Quist","sort_name":"Quist Ana","legal_name":"Ana Maria Quist","email":"ana@example.org","isni":null,"credit_wish":"credited","name_confirmed_on":"2026-03-02","same_as":null,"note":null}','2026-11-26T07:58:02.637Z');
INSERT INTO "history" VALUES(22,'people','ben','insert',NULL,'{"person":"ben","credit_name":"Ben Ode","sort_name":null,"legal_name":null,"email":null,"isni":null,"credit_wish":"credited","name_confirmed_on":null,"same_as":null,"note":null}','2026-11-26T07:58:02.637Z');
INSERT INTO "history" VALUES(23,'people','cai','insert',NULL,'{"person":"cai","credit_name":"Cai","sort_name":null,"legal_name":null,"email":null,"isni":null,"credit_wish":"uncredited","name_confirmed_on":null,"same_as":null,"note":null}','2026-11-26T07:58:02.637Z');
INSERT INTO "history" VALUES(24,'people','dov','insert',NULL,'{"person":"dov","credit_name":"דב לוי","sort_name":null,"legal_name":null,"email":null,"isni":null,"credit_wish":"credited","name_confirmed_on":null,"same_as":null,"note":null}','2026-11-26T07:58:02.637Z');
INSERT INTO "history" VALUES(25,'people','ann','insert',NULL,'{"person":"ann","credit_name":"Ann Quist","sort_name":null,"legal_name":null,"email":null,"isni":null,"credit_wish":"credited","name_confirmed_on":null,"same_as":"ana","note":"as she signed"}','2026-11-26T07:58:02.637Z');
INSERT INTO "history" VALUES(26,'engagements','ana','insert',NULL,'{"person":"ana","department":"Animation","job_title":"Animator","starts_on":"2026-01-05","ends_on":"2026-12-18","guaranteed_heading":"Lead animator","billing_number":1}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(27,'engagements','ben','insert',NULL,'{"person":"ben","department":"Puppets","job_title":"Puppet maker","starts_on":"2026-01-05","ends_on":null,"guaranteed_heading":null,"billing_number":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(28,'engagements','dov','insert',NULL,'{"person":"dov","department":"Voices","job_title":"Voice","starts_on":null,"ends_on":null,"guaranteed_heading":null,"billing_number":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(29,'characters','wick','insert',NULL,'{"character":"wick","name":"Wick","silent":0,"note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(30,'characters','brine','insert',NULL,'{"character":"brine","name":"Brine","silent":1,"note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(31,'puppets','wick-1','insert',NULL,'{"puppet":"wick-1","character":"wick","copy":"1","scale":"1:1","ready_on":"2026-02-01","retired_on":null,"note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(32,'puppets','wick-2','insert',NULL,'{"puppet":"wick-2","character":"wick","copy":"2","scale":"1:2","ready_on":"2026-02-10","retired_on":null,"note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(33,'puppets','brine-1','insert',NULL,'{"puppet":"brine-1","character":"brine","copy":"1","scale":null,"ready_on":null,"retired_on":null,"note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(34,'parts','smile','insert',NULL,'{"part":"smile","kind":"face","character":"wick","note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(35,'parts','arm','insert',NULL,'{"part":"arm","kind":"armature","character":null,"note":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(36,'fittings','arm','insert',NULL,'{"part":"arm","puppet":"wick-1","from_on":"2026-02-01","to_on":"2026-03-03"}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(37,'fittings','arm','insert',NULL,'{"part":"arm","puppet":"wick-2","from_on":"2026-03-04","to_on":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(38,'sequences','010','insert',NULL,'{"sequence":"010","name":"Harbour"}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(39,'shots','010-010','insert',NULL,'{"shot":"010-010","sequence":"010","frames":48,"status":"done","description":null}','2026-11-26T07:58:02.638Z');
INSERT INTO "history" VALUES(40,'shots','010-020','insert',NULL,'{"shot":"010-020","sequence":"010","frames":30,"status":"shooting","description":"He *waits*."}','2026-11-26T07:58:02.639Z');
INSERT INTO "history" VALUES(41,'stages','S1','insert',NULL,'{"stage":"S1","unit":"Unit A"}','2026-11-26T07:58:02.639Z');
INSERT INTO "history" VALUES(42,'takes','010-010','insert',NULL,'{"shot":"010-010","take":1,"purpose":"shoot","decision":"retake","decided_on":"2026-03-02"}','2026-11-26T07:58:02.639Z');
INSERT INTO "history" VALUES(43,'takes','010-010','insert',NULL,'{"shot":"010-010","take":2,"purpose":"shoot","decision":"accepted","decided_on":"2026-03-03"}','2026-11-26T07:58:02.639Z');
INSERT INTO "history" VALUES(44,'replacements','010-010','insert',NULL,'{"shot":"010-010","take":2,"character":"wick","part":"smile","frames":"1-8,20-24"}','2026-11-26T07:58:02.639Z');
CREATE TABLE log (
	one INTEGER NOT NULL,
	origin TEXT NOT NULL,
	made_on TEXT NOT NULL,
	CONSTRAINT pk_log PRIMARY KEY (one),
	CONSTRAINT ck_log_a_log_has_one_row CHECK (one = 1),
	CONSTRAINT ck_log_the_origin_is_letters CHECK (origin GLOB '[A-Z]*' AND origin NOT GLOB '*[^A-Z]*'),
	CONSTRAINT ck_log_made_on_is_a_date CHECK (made_on IS date(made_on))
)
 STRICT;
INSERT INTO "log" VALUES(1,'A','2026-11-26');
CREATE TABLE parts (
	position INTEGER NOT NULL,
	part TEXT NOT NULL,
	kind TEXT NOT NULL,
	character TEXT,
	note TEXT,
	part_key TEXT NOT NULL,
	CONSTRAINT pk_parts PRIMARY KEY (position),
	CONSTRAINT ck_parts_the_part_has_a_code CHECK (length(trim(part)) > 0),
	CONSTRAINT ck_parts_the_part_has_a_kind CHECK (length(trim(kind)) > 0),
	CONSTRAINT uq_parts_part UNIQUE (part),
	CONSTRAINT fk_parts_character_characters FOREIGN KEY(character) REFERENCES characters (character),
	CONSTRAINT uq_parts_part_key UNIQUE (part_key)
)
 STRICT;
INSERT INTO "parts" VALUES(1,'smile','face','wick',NULL,'smile');
INSERT INTO "parts" VALUES(2,'arm','armature',NULL,NULL,'arm');
CREATE TABLE people (
	position INTEGER NOT NULL,
	person TEXT NOT NULL,
	credit_name TEXT NOT NULL,
	sort_name TEXT,
	legal_name TEXT,
	email TEXT,
	isni TEXT,
	credit_wish TEXT NOT NULL,
	name_confirmed_on TEXT,
	same_as TEXT,
	note TEXT,
	person_key TEXT NOT NULL,
	CONSTRAINT pk_people PRIMARY KEY (position),
	CONSTRAINT ck_people_the_person_has_a_code CHECK (length(trim(person)) > 0),
	CONSTRAINT ck_people_the_person_has_a_credit_name CHECK (length(trim(credit_name)) > 0),
	CONSTRAINT ck_people_the_credit_wish_is_credited_or_uncredited CHECK (credit_wish IN ('credited', 'uncredited')),
	CONSTRAINT ck_people_name_confirmed_on_is_a_date CHECK (name_confirmed_on IS date(name_confirmed_on)),
	CONSTRAINT ck_people_nobody_is_the_same_as_themselves CHECK (same_as <> person),
	CONSTRAINT uq_people_person UNIQUE (person),
	CONSTRAINT fk_people_same_as_people FOREIGN KEY(same_as) REFERENCES people (person) DEFERRABLE INITIALLY DEFERRED,
	CONSTRAINT uq_people_person_key UNIQUE (person_key)
)
 STRICT;
INSERT INTO "people" VALUES(1,'ana','Ana Quist','Quist Ana','Ana Maria Quist','ana@example.org',NULL,'credited','2026-03-02',NULL,NULL,'ana');
INSERT INTO "people" VALUES(2,'ben','Ben Ode',NULL,NULL,NULL,NULL,'credited',NULL,NULL,NULL,'ben');
INSERT INTO "people" VALUES(3,'cai','Cai',NULL,NULL,NULL,NULL,'uncredited',NULL,NULL,NULL,'cai');
INSERT INTO "people" VALUES(4,'dov','דב לוי',NULL,NULL,NULL,NULL,'credited',NULL,NULL,NULL,'dov');
INSERT INTO "people" VALUES(5,'ann','Ann Quist',NULL,NULL,NULL,NULL,'credited',NULL,'ana','as she signed','ann');
CREATE TABLE proofs (
	number INTEGER NOT NULL,
	saved_at TEXT NOT NULL,
	saved_by TEXT,
	note TEXT,
	plan_text TEXT NOT NULL,
	cut INTEGER,
	last_line TEXT,
	log_lines INTEGER NOT NULL,
	changes INTEGER NOT NULL,
	lines INTEGER NOT NULL,
	people INTEGER NOT NULL,
	content TEXT NOT NULL,
	CONSTRAINT pk_proofs PRIMARY KEY (number),
	CONSTRAINT ck_proofs_the_number_counts_from_1 CHECK (number >= 1),
	CONSTRAINT ck_proofs_the_proof_names_its_plan CHECK (length(trim(plan_text)) > 0),
	CONSTRAINT ck_proofs_the_log_lines_are_not_negative CHECK (log_lines >= 0),
	CONSTRAINT ck_proofs_the_changes_are_not_negative CHECK (changes >= 0),
	CONSTRAINT ck_proofs_the_lines_are_not_negative CHECK (lines >= 0),
	CONSTRAINT ck_proofs_the_people_are_not_negative CHECK (people >= 0),
	CONSTRAINT ck_proofs_the_content_is_an_object CHECK (CASE WHEN json_valid(content) THEN json_type(content) = 'object' ELSE 0 END),
	CONSTRAINT fk_proofs_cut_cut_versions FOREIGN KEY(cut) REFERENCES cut_versions (version)
)
 STRICT;
INSERT INTO "proofs" VALUES(1,'2026-11-26T07:58:14.236478+00:00','Bo','First round','built-in plan',1,'A-11',11,44,7,3,'{"plan":"built-in plan","sections":[{"heading":"Lead animator","layout":"names","columns":3,"text":"","lines":[{"person":"ana","name":"Ana Quist","role":null,"characters":[],"confirmed":true,"because":{"rule":"A contract guarantees the heading ''Lead animator'' (engaged as Animator).","figures":[["engagements",1],["billing number",1]],"entries":[],"threshold":""}}]},{"heading":"Voice","layout":"role and name","columns":1,"text":"","lines":[{"person":"dov","name":"דב לוי","role":"Wick","characters":["wick"],"confirmed":false,"because":{"rule":"The log has work of this craft (Voice).","figures":[["entries",1],["first day","2026-01-20"],["last day","2026-01-20"]],"entries":["A-1"],"threshold":""}}]},{"heading":"Animation","layout":"names","columns":3,"text":"","lines":[{"person":"ana","name":"Ana Quist","role":null,"characters":["wick"],"confirmed":true,"because":{"rule":"The log has work of this craft (Animation).","figures":[["entries",4],["first day","2026-03-02"],["last day","2026-03-05"]],"entries":["A-5","A-6","A-9","A-10"],"threshold":""}}]},{"heading":"Armature making","layout":"names","columns":3,"text":"","lines":[{"person":"ben","name":"Ben Ode","role":null,"characters":[],"confirmed":true,"because":{"rule":"The log has work of this craft (Armature making).","figures":[["entries",1],["first day","2026-01-30"],["last day","2026-01-30"]],"entries":["A-2"],"threshold":""}}]},{"heading":"Puppet repair","layout":"names","columns":3,"text":"","lines":[{"person":"ben","name":"Ben Ode","role":null,"characters":["wick"],"confirmed":true,"because":{"rule":"The log has work of this craft (Puppet repair).","figures":[["entries",1],["first day","2026-03-03"],["last day","2026-03-03"]],"entries":["A-8"],"threshold":""}}]},{"heading":"Puppets","layout":"role and name","columns":1,"text":"","lines":[{"person":"ben","name":"Ben Ode","role":"Puppet maker","characters":[],"confirmed":true,"because":{"rule":"The crew list has an engagement in this department (Puppet maker).","figures":[["engagements",1]],"entries":[],"threshold":""}}]},{"heading":"Voices","layout":"role and name","columns":1,"text":"","lines":[{"person":"dov","name":"דב לוי","role":"Voice","characters":[],"confirmed":false,"because":{"rule":"The crew list has an engagement in this department (Voice).","figures":[["engagements",1]],"entries":[],"threshold":""}}]}],"held":[{"person":"cai","name":"Cai","reason":"asked to be uncredited","heading":"","because":{"rule":"A person who asks to be uncredited is not printed.","figures":[["entries",1],["engagements",0]],"entries":["A-7"],"threshold":""}}],"held_lines":[],"order_of_appearance":["brine","wick"]}');
CREATE TABLE puppets (
	position INTEGER NOT NULL,
	puppet TEXT NOT NULL,
	character TEXT NOT NULL,
	copy TEXT,
	scale TEXT,
	ready_on TEXT,
	retired_on TEXT,
	note TEXT,
	puppet_key TEXT NOT NULL,
	CONSTRAINT pk_puppets PRIMARY KEY (position),
	CONSTRAINT ck_puppets_the_puppet_has_a_code CHECK (length(trim(puppet)) > 0),
	CONSTRAINT ck_puppets_ready_on_and_retired_on_are_dates CHECK (ready_on IS date(ready_on) AND retired_on IS date(retired_on)),
	CONSTRAINT uq_puppets_puppet UNIQUE (puppet),
	CONSTRAINT fk_puppets_character_characters FOREIGN KEY(character) REFERENCES characters (character),
	CONSTRAINT uq_puppets_puppet_key UNIQUE (puppet_key)
)
 STRICT;
INSERT INTO "puppets" VALUES(1,'wick-1','wick','1','1:1','2026-02-01',NULL,NULL,'wick-1');
INSERT INTO "puppets" VALUES(2,'wick-2','wick','2','1:2','2026-02-10',NULL,NULL,'wick-2');
INSERT INTO "puppets" VALUES(3,'brine-1','brine','1',NULL,NULL,NULL,NULL,'brine-1');
CREATE TABLE replacements (
	position INTEGER NOT NULL,
	shot TEXT NOT NULL,
	take INTEGER,
	character TEXT NOT NULL,
	part TEXT NOT NULL,
	frames TEXT NOT NULL,
	CONSTRAINT pk_replacements PRIMARY KEY (position),
	CONSTRAINT ck_replacements_the_take_counts_from_1 CHECK (take >= 1),
	CONSTRAINT ck_replacements_the_replacement_names_frames CHECK (frames <> ''),
	CONSTRAINT fk_replacements_shot_shots FOREIGN KEY(shot) REFERENCES shots (shot),
	CONSTRAINT fk_replacements_character_characters FOREIGN KEY(character) REFERENCES characters (character),
	CONSTRAINT fk_replacements_part_parts FOREIGN KEY(part) REFERENCES parts (part)
)
 STRICT;
INSERT INTO "replacements" VALUES(1,'010-010',2,'wick','smile','1-8,20-24');
CREATE TABLE sequences (
	position INTEGER NOT NULL,
	sequence TEXT NOT NULL,
	name TEXT,
	sequence_key TEXT NOT NULL,
	CONSTRAINT pk_sequences PRIMARY KEY (position),
	CONSTRAINT ck_sequences_the_sequence_has_a_code CHECK (length(trim(sequence)) > 0),
	CONSTRAINT uq_sequences_sequence UNIQUE (sequence),
	CONSTRAINT uq_sequences_sequence_key UNIQUE (sequence_key)
)
 STRICT;
INSERT INTO "sequences" VALUES(1,'010','Harbour','010');
CREATE TABLE settlements (
	position INTEGER NOT NULL,
	check_name TEXT NOT NULL,
	subjects TEXT NOT NULL,
	facts TEXT NOT NULL,
	settled_at TEXT NOT NULL,
	why TEXT,
	settled_by TEXT,
	taken_back INTEGER NOT NULL,
	CONSTRAINT pk_settlements PRIMARY KEY (position),
	CONSTRAINT ck_settlements_the_answer_names_a_check CHECK (length(trim(check_name)) > 0),
	CONSTRAINT ck_settlements_the_subjects_are_a_list CHECK (CASE WHEN json_valid(subjects) THEN json_type(subjects) = 'array' ELSE 0 END),
	CONSTRAINT ck_settlements_the_answer_names_the_facts_it_rests_on CHECK (length(trim(facts)) > 0),
	CONSTRAINT ck_settlements_an_answer_says_why CHECK (taken_back OR coalesce(length(trim(why)), 0) > 0),
	CONSTRAINT ck_settlements_taken_back_is_yes_or_no CHECK (taken_back IN (0, 1))
)
 STRICT;
INSERT INTO "settlements" VALUES(1,'no-engagement','[["person","cai"]]','6c70bad5623bd9a9c9962329030c0c6a67099101073b41cb72058df3bdd83696','2026-11-26T07:58:09.941849+00:00','A guest of one day.','Bo',0);
INSERT INTO "settlements" VALUES(2,'sort-name-missing','[["person","ben"]]','110bb23deb95bef1ca89d75fbcea86c947e7158890078057db202b89b0773651','2026-11-26T07:58:10.797185+00:00','Files as written.','Bo',0);
INSERT INTO "settlements" VALUES(3,'sort-name-missing','[["person","ben"]]','110bb23deb95bef1ca89d75fbcea86c947e7158890078057db202b89b0773651','2026-11-26T07:58:11.637923+00:00',NULL,NULL,1);
CREATE TABLE shots (
	position INTEGER NOT NULL,
	shot TEXT NOT NULL,
	sequence TEXT NOT NULL,
	frames INTEGER NOT NULL,
	status TEXT NOT NULL,
	description TEXT,
	shot_key TEXT NOT NULL,
	CONSTRAINT pk_shots PRIMARY KEY (position),
	CONSTRAINT ck_shots_the_shot_has_a_code CHECK (length(trim(shot)) > 0),
	CONSTRAINT ck_shots_the_shot_has_at_least_1_frame CHECK (frames >= 1),
	CONSTRAINT ck_shots_the_status_is_planned_shooting_done_or_omitted CHECK (status IN ('planned', 'shooting', 'done', 'omitted')),
	CONSTRAINT uq_shots_shot UNIQUE (shot),
	CONSTRAINT fk_shots_sequence_sequences FOREIGN KEY(sequence) REFERENCES sequences (sequence),
	CONSTRAINT uq_shots_shot_key UNIQUE (shot_key)
)
 STRICT;
INSERT INTO "shots" VALUES(1,'010-010','010',48,'done',NULL,'010-010');
INSERT INTO "shots" VALUES(2,'010-020','010',30,'shooting','He *waits*.','010-020');
CREATE TABLE stages (
	position INTEGER NOT NULL,
	stage TEXT NOT NULL,
	unit TEXT,
	stage_key TEXT NOT NULL,
	CONSTRAINT pk_stages PRIMARY KEY (position),
	CONSTRAINT ck_stages_the_stage_has_a_code CHECK (length(trim(stage)) > 0),
	CONSTRAINT uq_stages_stage UNIQUE (stage),
	CONSTRAINT uq_stages_stage_key UNIQUE (stage_key)
)
 STRICT;
INSERT INTO "stages" VALUES(1,'S1','Unit A','s1');
CREATE TABLE takes (
	position INTEGER NOT NULL,
	shot TEXT NOT NULL,
	take INTEGER NOT NULL,
	purpose TEXT NOT NULL,
	decision TEXT NOT NULL,
	decided_on TEXT,
	CONSTRAINT pk_takes PRIMARY KEY (position),
	CONSTRAINT uq_takes_shot_take UNIQUE (shot, take),
	CONSTRAINT ck_takes_the_take_counts_from_1 CHECK (take >= 1),
	CONSTRAINT ck_takes_the_purpose_is_block_rehearsal_or_shoot CHECK (purpose IN ('block', 'rehearsal', 'shoot')),
	CONSTRAINT ck_takes_the_decision_is_open_accepted_or_retake CHECK (decision IN ('open', 'accepted', 'retake')),
	CONSTRAINT ck_takes_decided_on_is_a_date CHECK (decided_on IS date(decided_on)),
	CONSTRAINT fk_takes_shot_shots FOREIGN KEY(shot) REFERENCES shots (shot)
)
 STRICT;
INSERT INTO "takes" VALUES(1,'010-010',1,'shoot','retake','2026-03-02');
INSERT INTO "takes" VALUES(2,'010-010',2,'shoot','accepted','2026-03-03');
CREATE INDEX ix_history_code ON history (code);
CREATE INDEX ix_history_table_name ON history (table_name);
CREATE UNIQUE INDEX uq_engagements_key ON engagements (person, department, job_title, coalesce(starts_on, ''));
CREATE UNIQUE INDEX uq_replacements_key ON replacements (shot, coalesce(take, 0), character, part);
CREATE TRIGGER entries_changed BEFORE UPDATE ON entries BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of entries is never changed'); END;
CREATE TRIGGER entries_removed BEFORE DELETE ON entries BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of entries is never removed'); END;
CREATE TRIGGER entries_replaced BEFORE INSERT ON entries WHEN EXISTS (SELECT 1 FROM entries WHERE line = NEW.line) OR EXISTS (SELECT 1 FROM entries WHERE origin = NEW.origin AND number = NEW.number) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of entries is never replaced'); END;
CREATE TRIGGER cut_versions_changed BEFORE UPDATE ON cut_versions BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_versions is never changed'); END;
CREATE TRIGGER cut_versions_removed BEFORE DELETE ON cut_versions BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_versions is never removed'); END;
CREATE TRIGGER cut_versions_replaced BEFORE INSERT ON cut_versions WHEN EXISTS (SELECT 1 FROM cut_versions WHERE version = NEW.version) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_versions is never replaced'); END;
CREATE TRIGGER cut_clips_changed BEFORE UPDATE ON cut_clips BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_clips is never changed'); END;
CREATE TRIGGER cut_clips_removed BEFORE DELETE ON cut_clips BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_clips is never removed'); END;
CREATE TRIGGER cut_clips_replaced BEFORE INSERT ON cut_clips WHEN EXISTS (SELECT 1 FROM cut_clips WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM cut_clips WHERE version = NEW.version AND clip_order = NEW.clip_order) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_clips is never replaced'); END;
CREATE TRIGGER cut_uses_changed BEFORE UPDATE ON cut_uses BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_uses is never changed'); END;
CREATE TRIGGER cut_uses_removed BEFORE DELETE ON cut_uses BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_uses is never removed'); END;
CREATE TRIGGER cut_uses_replaced BEFORE INSERT ON cut_uses WHEN EXISTS (SELECT 1 FROM cut_uses WHERE position = NEW.position) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of cut_uses is never replaced'); END;
CREATE TRIGGER settlements_changed BEFORE UPDATE ON settlements BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of settlements is never changed'); END;
CREATE TRIGGER settlements_removed BEFORE DELETE ON settlements BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of settlements is never removed'); END;
CREATE TRIGGER settlements_replaced BEFORE INSERT ON settlements WHEN EXISTS (SELECT 1 FROM settlements WHERE position = NEW.position) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of settlements is never replaced'); END;
CREATE TRIGGER confirmations_changed BEFORE UPDATE ON confirmations BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of confirmations is never changed'); END;
CREATE TRIGGER confirmations_removed BEFORE DELETE ON confirmations BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of confirmations is never removed'); END;
CREATE TRIGGER confirmations_replaced BEFORE INSERT ON confirmations WHEN EXISTS (SELECT 1 FROM confirmations WHERE position = NEW.position) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of confirmations is never replaced'); END;
CREATE TRIGGER proofs_changed BEFORE UPDATE ON proofs BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of proofs is never changed'); END;
CREATE TRIGGER proofs_removed BEFORE DELETE ON proofs BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of proofs is never removed'); END;
CREATE TRIGGER proofs_replaced BEFORE INSERT ON proofs WHEN EXISTS (SELECT 1 FROM proofs WHERE number = NEW.number) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of proofs is never replaced'); END;
CREATE TRIGGER history_changed BEFORE UPDATE ON history BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of history is never changed'); END;
CREATE TRIGGER history_removed BEFORE DELETE ON history BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of history is never removed'); END;
CREATE TRIGGER history_replaced BEFORE INSERT ON history WHEN EXISTS (SELECT 1 FROM history WHERE position = NEW.position) BEGIN SELECT RAISE(ABORT, 'the log is append-only: a row of history is never replaced'); END;
CREATE TRIGGER entries_corrects_void BEFORE INSERT ON entries WHEN EXISTS (SELECT 1 FROM entries WHERE origin = NEW.corrects_origin AND number = NEW.corrects_number AND verb = 'void') BEGIN SELECT RAISE(ABORT, 'a void is not corrected: write a new entry'); END;
CREATE TRIGGER log_history_insert AFTER INSERT ON log BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('log', NEW.origin, 'insert', NULL, json_object('origin', NEW.origin, 'made_on', NEW.made_on), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER log_history_update AFTER UPDATE ON log BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('log', NEW.origin, 'update', json_object('origin', OLD.origin, 'made_on', OLD.made_on), json_object('origin', NEW.origin, 'made_on', NEW.made_on), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER log_history_delete AFTER DELETE ON log BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('log', OLD.origin, 'delete', json_object('origin', OLD.origin, 'made_on', OLD.made_on), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER log_replaced BEFORE INSERT ON log WHEN EXISTS (SELECT 1 FROM log WHERE one = NEW.one) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of log is never replaced'); END;
CREATE TRIGGER crafts_history_insert AFTER INSERT ON crafts BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('crafts', NEW.craft, 'insert', NULL, json_object('craft', NEW.craft, 'name', NEW.name, 'department', NEW.department, 'kind', NEW.kind, 'footage', NEW.footage, 'heading', NEW.heading), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER crafts_history_update AFTER UPDATE ON crafts BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('crafts', NEW.craft, 'update', json_object('craft', OLD.craft, 'name', OLD.name, 'department', OLD.department, 'kind', OLD.kind, 'footage', OLD.footage, 'heading', OLD.heading), json_object('craft', NEW.craft, 'name', NEW.name, 'department', NEW.department, 'kind', NEW.kind, 'footage', NEW.footage, 'heading', NEW.heading), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER crafts_history_delete AFTER DELETE ON crafts BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('crafts', OLD.craft, 'delete', json_object('craft', OLD.craft, 'name', OLD.name, 'department', OLD.department, 'kind', OLD.kind, 'footage', OLD.footage, 'heading', OLD.heading), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER crafts_replaced BEFORE INSERT ON crafts WHEN EXISTS (SELECT 1 FROM crafts WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM crafts WHERE craft = NEW.craft) OR EXISTS (SELECT 1 FROM crafts WHERE craft_key = NEW.craft_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of crafts is never replaced'); END;
CREATE TRIGGER people_history_insert AFTER INSERT ON people BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('people', NEW.person, 'insert', NULL, json_object('person', NEW.person, 'credit_name', NEW.credit_name, 'sort_name', NEW.sort_name, 'legal_name', NEW.legal_name, 'email', NEW.email, 'isni', NEW.isni, 'credit_wish', NEW.credit_wish, 'name_confirmed_on', NEW.name_confirmed_on, 'same_as', NEW.same_as, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER people_history_update AFTER UPDATE ON people BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('people', NEW.person, 'update', json_object('person', OLD.person, 'credit_name', OLD.credit_name, 'sort_name', OLD.sort_name, 'legal_name', OLD.legal_name, 'email', OLD.email, 'isni', OLD.isni, 'credit_wish', OLD.credit_wish, 'name_confirmed_on', OLD.name_confirmed_on, 'same_as', OLD.same_as, 'note', OLD.note), json_object('person', NEW.person, 'credit_name', NEW.credit_name, 'sort_name', NEW.sort_name, 'legal_name', NEW.legal_name, 'email', NEW.email, 'isni', NEW.isni, 'credit_wish', NEW.credit_wish, 'name_confirmed_on', NEW.name_confirmed_on, 'same_as', NEW.same_as, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER people_history_delete AFTER DELETE ON people BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('people', OLD.person, 'delete', json_object('person', OLD.person, 'credit_name', OLD.credit_name, 'sort_name', OLD.sort_name, 'legal_name', OLD.legal_name, 'email', OLD.email, 'isni', OLD.isni, 'credit_wish', OLD.credit_wish, 'name_confirmed_on', OLD.name_confirmed_on, 'same_as', OLD.same_as, 'note', OLD.note), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER people_replaced BEFORE INSERT ON people WHEN EXISTS (SELECT 1 FROM people WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM people WHERE person = NEW.person) OR EXISTS (SELECT 1 FROM people WHERE person_key = NEW.person_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of people is never replaced'); END;
CREATE TRIGGER engagements_history_insert AFTER INSERT ON engagements BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('engagements', NEW.person, 'insert', NULL, json_object('person', NEW.person, 'department', NEW.department, 'job_title', NEW.job_title, 'starts_on', NEW.starts_on, 'ends_on', NEW.ends_on, 'guaranteed_heading', NEW.guaranteed_heading, 'billing_number', NEW.billing_number), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER engagements_history_update AFTER UPDATE ON engagements BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('engagements', NEW.person, 'update', json_object('person', OLD.person, 'department', OLD.department, 'job_title', OLD.job_title, 'starts_on', OLD.starts_on, 'ends_on', OLD.ends_on, 'guaranteed_heading', OLD.guaranteed_heading, 'billing_number', OLD.billing_number), json_object('person', NEW.person, 'department', NEW.department, 'job_title', NEW.job_title, 'starts_on', NEW.starts_on, 'ends_on', NEW.ends_on, 'guaranteed_heading', NEW.guaranteed_heading, 'billing_number', NEW.billing_number), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER engagements_history_delete AFTER DELETE ON engagements BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('engagements', OLD.person, 'delete', json_object('person', OLD.person, 'department', OLD.department, 'job_title', OLD.job_title, 'starts_on', OLD.starts_on, 'ends_on', OLD.ends_on, 'guaranteed_heading', OLD.guaranteed_heading, 'billing_number', OLD.billing_number), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER engagements_replaced BEFORE INSERT ON engagements WHEN EXISTS (SELECT 1 FROM engagements WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM engagements WHERE person = NEW.person AND department = NEW.department AND job_title = NEW.job_title AND coalesce(starts_on, '') = coalesce(NEW.starts_on, '')) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of engagements is never replaced'); END;
CREATE TRIGGER characters_history_insert AFTER INSERT ON characters BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('characters', NEW.character, 'insert', NULL, json_object('character', NEW.character, 'name', NEW.name, 'silent', NEW.silent, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER characters_history_update AFTER UPDATE ON characters BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('characters', NEW.character, 'update', json_object('character', OLD.character, 'name', OLD.name, 'silent', OLD.silent, 'note', OLD.note), json_object('character', NEW.character, 'name', NEW.name, 'silent', NEW.silent, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER characters_history_delete AFTER DELETE ON characters BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('characters', OLD.character, 'delete', json_object('character', OLD.character, 'name', OLD.name, 'silent', OLD.silent, 'note', OLD.note), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER characters_replaced BEFORE INSERT ON characters WHEN EXISTS (SELECT 1 FROM characters WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM characters WHERE character = NEW.character) OR EXISTS (SELECT 1 FROM characters WHERE character_key = NEW.character_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of characters is never replaced'); END;
CREATE TRIGGER puppets_history_insert AFTER INSERT ON puppets BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('puppets', NEW.puppet, 'insert', NULL, json_object('puppet', NEW.puppet, 'character', NEW.character, 'copy', NEW.copy, 'scale', NEW.scale, 'ready_on', NEW.ready_on, 'retired_on', NEW.retired_on, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER puppets_history_update AFTER UPDATE ON puppets BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('puppets', NEW.puppet, 'update', json_object('puppet', OLD.puppet, 'character', OLD.character, 'copy', OLD.copy, 'scale', OLD.scale, 'ready_on', OLD.ready_on, 'retired_on', OLD.retired_on, 'note', OLD.note), json_object('puppet', NEW.puppet, 'character', NEW.character, 'copy', NEW.copy, 'scale', NEW.scale, 'ready_on', NEW.ready_on, 'retired_on', NEW.retired_on, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER puppets_history_delete AFTER DELETE ON puppets BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('puppets', OLD.puppet, 'delete', json_object('puppet', OLD.puppet, 'character', OLD.character, 'copy', OLD.copy, 'scale', OLD.scale, 'ready_on', OLD.ready_on, 'retired_on', OLD.retired_on, 'note', OLD.note), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER puppets_replaced BEFORE INSERT ON puppets WHEN EXISTS (SELECT 1 FROM puppets WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM puppets WHERE puppet = NEW.puppet) OR EXISTS (SELECT 1 FROM puppets WHERE puppet_key = NEW.puppet_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of puppets is never replaced'); END;
CREATE TRIGGER parts_history_insert AFTER INSERT ON parts BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('parts', NEW.part, 'insert', NULL, json_object('part', NEW.part, 'kind', NEW.kind, 'character', NEW.character, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER parts_history_update AFTER UPDATE ON parts BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('parts', NEW.part, 'update', json_object('part', OLD.part, 'kind', OLD.kind, 'character', OLD.character, 'note', OLD.note), json_object('part', NEW.part, 'kind', NEW.kind, 'character', NEW.character, 'note', NEW.note), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER parts_history_delete AFTER DELETE ON parts BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('parts', OLD.part, 'delete', json_object('part', OLD.part, 'kind', OLD.kind, 'character', OLD.character, 'note', OLD.note), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER parts_replaced BEFORE INSERT ON parts WHEN EXISTS (SELECT 1 FROM parts WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM parts WHERE part = NEW.part) OR EXISTS (SELECT 1 FROM parts WHERE part_key = NEW.part_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of parts is never replaced'); END;
CREATE TRIGGER fittings_history_insert AFTER INSERT ON fittings BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('fittings', NEW.part, 'insert', NULL, json_object('part', NEW.part, 'puppet', NEW.puppet, 'from_on', NEW.from_on, 'to_on', NEW.to_on), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER fittings_history_update AFTER UPDATE ON fittings BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('fittings', NEW.part, 'update', json_object('part', OLD.part, 'puppet', OLD.puppet, 'from_on', OLD.from_on, 'to_on', OLD.to_on), json_object('part', NEW.part, 'puppet', NEW.puppet, 'from_on', NEW.from_on, 'to_on', NEW.to_on), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER fittings_history_delete AFTER DELETE ON fittings BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('fittings', OLD.part, 'delete', json_object('part', OLD.part, 'puppet', OLD.puppet, 'from_on', OLD.from_on, 'to_on', OLD.to_on), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER fittings_replaced BEFORE INSERT ON fittings WHEN EXISTS (SELECT 1 FROM fittings WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM fittings WHERE part = NEW.part AND puppet = NEW.puppet AND from_on = NEW.from_on) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of fittings is never replaced'); END;
CREATE TRIGGER sequences_history_insert AFTER INSERT ON sequences BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('sequences', NEW.sequence, 'insert', NULL, json_object('sequence', NEW.sequence, 'name', NEW.name), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER sequences_history_update AFTER UPDATE ON sequences BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('sequences', NEW.sequence, 'update', json_object('sequence', OLD.sequence, 'name', OLD.name), json_object('sequence', NEW.sequence, 'name', NEW.name), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER sequences_history_delete AFTER DELETE ON sequences BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('sequences', OLD.sequence, 'delete', json_object('sequence', OLD.sequence, 'name', OLD.name), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER sequences_replaced BEFORE INSERT ON sequences WHEN EXISTS (SELECT 1 FROM sequences WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM sequences WHERE sequence = NEW.sequence) OR EXISTS (SELECT 1 FROM sequences WHERE sequence_key = NEW.sequence_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of sequences is never replaced'); END;
CREATE TRIGGER shots_history_insert AFTER INSERT ON shots BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('shots', NEW.shot, 'insert', NULL, json_object('shot', NEW.shot, 'sequence', NEW.sequence, 'frames', NEW.frames, 'status', NEW.status, 'description', NEW.description), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER shots_history_update AFTER UPDATE ON shots BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('shots', NEW.shot, 'update', json_object('shot', OLD.shot, 'sequence', OLD.sequence, 'frames', OLD.frames, 'status', OLD.status, 'description', OLD.description), json_object('shot', NEW.shot, 'sequence', NEW.sequence, 'frames', NEW.frames, 'status', NEW.status, 'description', NEW.description), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER shots_history_delete AFTER DELETE ON shots BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('shots', OLD.shot, 'delete', json_object('shot', OLD.shot, 'sequence', OLD.sequence, 'frames', OLD.frames, 'status', OLD.status, 'description', OLD.description), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER shots_replaced BEFORE INSERT ON shots WHEN EXISTS (SELECT 1 FROM shots WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM shots WHERE shot = NEW.shot) OR EXISTS (SELECT 1 FROM shots WHERE shot_key = NEW.shot_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of shots is never replaced'); END;
CREATE TRIGGER stages_history_insert AFTER INSERT ON stages BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('stages', NEW.stage, 'insert', NULL, json_object('stage', NEW.stage, 'unit', NEW.unit), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER stages_history_update AFTER UPDATE ON stages BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('stages', NEW.stage, 'update', json_object('stage', OLD.stage, 'unit', OLD.unit), json_object('stage', NEW.stage, 'unit', NEW.unit), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER stages_history_delete AFTER DELETE ON stages BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('stages', OLD.stage, 'delete', json_object('stage', OLD.stage, 'unit', OLD.unit), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER stages_replaced BEFORE INSERT ON stages WHEN EXISTS (SELECT 1 FROM stages WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM stages WHERE stage = NEW.stage) OR EXISTS (SELECT 1 FROM stages WHERE stage_key = NEW.stage_key) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of stages is never replaced'); END;
CREATE TRIGGER takes_history_insert AFTER INSERT ON takes BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('takes', NEW.shot, 'insert', NULL, json_object('shot', NEW.shot, 'take', NEW.take, 'purpose', NEW.purpose, 'decision', NEW.decision, 'decided_on', NEW.decided_on), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER takes_history_update AFTER UPDATE ON takes BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('takes', NEW.shot, 'update', json_object('shot', OLD.shot, 'take', OLD.take, 'purpose', OLD.purpose, 'decision', OLD.decision, 'decided_on', OLD.decided_on), json_object('shot', NEW.shot, 'take', NEW.take, 'purpose', NEW.purpose, 'decision', NEW.decision, 'decided_on', NEW.decided_on), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER takes_history_delete AFTER DELETE ON takes BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('takes', OLD.shot, 'delete', json_object('shot', OLD.shot, 'take', OLD.take, 'purpose', OLD.purpose, 'decision', OLD.decision, 'decided_on', OLD.decided_on), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER takes_replaced BEFORE INSERT ON takes WHEN EXISTS (SELECT 1 FROM takes WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM takes WHERE shot = NEW.shot AND take = NEW.take) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of takes is never replaced'); END;
CREATE TRIGGER replacements_history_insert AFTER INSERT ON replacements BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('replacements', NEW.shot, 'insert', NULL, json_object('shot', NEW.shot, 'take', NEW.take, 'character', NEW.character, 'part', NEW.part, 'frames', NEW.frames), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER replacements_history_update AFTER UPDATE ON replacements BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('replacements', NEW.shot, 'update', json_object('shot', OLD.shot, 'take', OLD.take, 'character', OLD.character, 'part', OLD.part, 'frames', OLD.frames), json_object('shot', NEW.shot, 'take', NEW.take, 'character', NEW.character, 'part', NEW.part, 'frames', NEW.frames), strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER replacements_history_delete AFTER DELETE ON replacements BEGIN INSERT INTO history (table_name, code, verb, old_row, new_row, changed_at) VALUES ('replacements', OLD.shot, 'delete', json_object('shot', OLD.shot, 'take', OLD.take, 'character', OLD.character, 'part', OLD.part, 'frames', OLD.frames), NULL, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER replacements_replaced BEFORE INSERT ON replacements WHEN EXISTS (SELECT 1 FROM replacements WHERE position = NEW.position) OR EXISTS (SELECT 1 FROM replacements WHERE shot = NEW.shot AND coalesce(take, 0) = coalesce(NEW.take, 0) AND character = NEW.character AND part = NEW.part) BEGIN SELECT RAISE(ABORT, 'the history is kept: a row of replacements is never replaced'); END;
CREATE TRIGGER people_confirmed_new AFTER INSERT ON people WHEN NEW.name_confirmed_on IS NOT NULL BEGIN INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at) VALUES (NEW.person, NEW.credit_name, NEW.name_confirmed_on, 1, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER people_confirmed AFTER UPDATE ON people WHEN NEW.name_confirmed_on IS NOT NULL AND NEW.name_confirmed_on IS NOT OLD.name_confirmed_on BEGIN INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at) VALUES (NEW.person, NEW.credit_name, NEW.name_confirmed_on, 1, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
CREATE TRIGGER people_taken_back AFTER UPDATE ON people WHEN NOT (NEW.name_confirmed_on IS NOT NULL) AND NEW.name_confirmed_on IS NOT OLD.name_confirmed_on BEGIN INSERT INTO confirmations (person, name, confirmed_on, is_right, written_at) VALUES (NEW.person, OLD.credit_name, OLD.name_confirmed_on, 0, strftime('%Y-%m-%dT%H:%M:%fZ', 'now')); END;
COMMIT;
