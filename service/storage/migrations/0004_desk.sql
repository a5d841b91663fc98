-- People, tickets, rain, accounts, the log, seasonal messages, and when reminders come.

CREATE TABLE person (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    name VARCHAR(120) NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE NOT NULL,
    "groups" TEXT NOT NULL,
    note TEXT NOT NULL,
    revision INTEGER NOT NULL
);

CREATE INDEX person_by_phone ON person (phone_id);

CREATE TABLE person_group (
    person_id VARCHAR(32) NOT NULL REFERENCES person (id),
    name VARCHAR(120) NOT NULL,
    PRIMARY KEY (person_id, name)
);

CREATE INDEX person_group_by_name ON person_group (name);

ALTER TABLE plot ADD COLUMN person_id VARCHAR(32);

-- As told in the answers, kept once more so that plots can be found by them.
ALTER TABLE plot ADD COLUMN district VARCHAR(64) DEFAULT '' NOT NULL;

ALTER TABLE plot ADD COLUMN crop VARCHAR(64) DEFAULT '' NOT NULL;

CREATE INDEX plot_of_district ON plot (district, id) WHERE "current";

CREATE INDEX plot_in_order ON plot (id) WHERE "current";

CREATE TABLE ticket (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    kind VARCHAR(16) NOT NULL,
    dedupe_key VARCHAR(160) NOT NULL UNIQUE,
    opened_at TIMESTAMP WITH TIME ZONE NOT NULL,
    matter TEXT NOT NULL,
    danger VARCHAR(16) NOT NULL,
    plot_id VARCHAR(32),
    so_far TEXT NOT NULL,
    state VARCHAR(16) NOT NULL,
    claimed_by VARCHAR(32),
    claimed_at TIMESTAMP WITH TIME ZONE,
    closed_at TIMESTAMP WITH TIME ZONE,
    outcome TEXT NOT NULL,
    ask_on DATE,
    worked BOOLEAN,
    revision INTEGER NOT NULL
);

CREATE INDEX ticket_waiting ON ticket (opened_at) WHERE state <> 'closed';

CREATE INDEX ticket_by_phone ON ticket (phone_id, opened_at);

CREATE INDEX ticket_opened ON ticket (opened_at);

CREATE INDEX ticket_to_ask ON ticket (ask_on) WHERE ask_on IS NOT NULL AND worked IS NULL;

CREATE TABLE ticket_note (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    ticket_id VARCHAR(32) NOT NULL REFERENCES ticket (id),
    account_id VARCHAR(32) NOT NULL,
    at TIMESTAMP WITH TIME ZONE NOT NULL,
    text TEXT NOT NULL
);

CREATE INDEX ticket_note_by_ticket ON ticket_note (ticket_id, at);

CREATE TABLE rain_report (
    district VARCHAR(64) NOT NULL,
    day DATE NOT NULL,
    mm FLOAT NOT NULL,
    reported_at TIMESTAMP WITH TIME ZONE NOT NULL,
    account_id VARCHAR(32),
    PRIMARY KEY (district, day)
);

CREATE INDEX rain_report_by_day ON rain_report (day);

CREATE TABLE account (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    name VARCHAR(120) NOT NULL,
    name_key VARCHAR(240) NOT NULL UNIQUE,
    roles TEXT NOT NULL,
    password_hash VARCHAR(255) NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE NOT NULL,
    language VARCHAR(16) NOT NULL,
    phone VARCHAR(80) NOT NULL,
    districts TEXT NOT NULL,
    active BOOLEAN NOT NULL,
    epoch INTEGER NOT NULL,
    failures INTEGER NOT NULL,
    locked_until TIMESTAMP WITH TIME ZONE,
    revision INTEGER NOT NULL
);

CREATE TABLE audit (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    at TIMESTAMP WITH TIME ZONE NOT NULL,
    account_id VARCHAR(32),
    action VARCHAR(64) NOT NULL,
    subject VARCHAR(32) NOT NULL,
    subject_id VARCHAR(32) NOT NULL,
    detail TEXT NOT NULL
);

CREATE INDEX audit_by_time ON audit (at);

CREATE INDEX audit_by_subject ON audit (subject_id, at);

CREATE INDEX audit_by_account ON audit (account_id, at);

CREATE TABLE seasonal (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    title VARCHAR(200) NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE NOT NULL,
    created_by VARCHAR(32) NOT NULL,
    audience TEXT NOT NULL,
    texts TEXT NOT NULL,
    state VARCHAR(16) NOT NULL,
    changed_by VARCHAR(32) NOT NULL,
    approved_by VARCHAR(32),
    approved_at TIMESTAMP WITH TIME ZONE,
    starts_at TIMESTAMP WITH TIME ZONE,
    "cursor" VARCHAR(64) NOT NULL,
    planned INTEGER NOT NULL,
    skipped INTEGER NOT NULL,
    revision INTEGER NOT NULL
);

CREATE INDEX seasonal_by_time ON seasonal (created_at);

CREATE TABLE seasonal_recipient (
    seasonal_id VARCHAR(32) NOT NULL REFERENCES seasonal (id),
    plot_id VARCHAR(32) NOT NULL,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    message_id VARCHAR(32),
    left_out VARCHAR(64) NOT NULL,
    PRIMARY KEY (seasonal_id, plot_id)
);

CREATE INDEX seasonal_recipient_by_phone ON seasonal_recipient (phone_id);

CREATE TABLE reminder_choice (
    phone_id VARCHAR(32) NOT NULL PRIMARY KEY REFERENCES phone (id),
    "hour" INTEGER NOT NULL,
    weekday INTEGER NOT NULL,
    chosen_at TIMESTAMP WITH TIME ZONE NOT NULL
);

-- The seasonal message that a message belongs to: paused and cancelled with it.
ALTER TABLE outbox ADD COLUMN batch VARCHAR(32) DEFAULT '' NOT NULL;

CREATE INDEX outbox_of_batch ON outbox (batch, state) WHERE batch <> '';

CREATE INDEX outbox_last_of_phone ON outbox (phone_id, created_at);

CREATE INDEX inbound_of_phone ON inbound (phone_id, received_at);

CREATE INDEX review_of_phone ON review (phone_id);
