-- Plots that last, texts that came in, consent, and the outbox. One text for both databases.

CREATE TABLE plot (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    created_at TIMESTAMP WITH TIME ZONE NOT NULL,
    updated_at TIMESTAMP WITH TIME ZONE NOT NULL,
    name VARCHAR(64) NOT NULL,
    answers TEXT NOT NULL,
    calibration DOUBLE PRECISION,
    "current" BOOLEAN NOT NULL,
    revision INTEGER NOT NULL
);

-- A new conversation is about one plot.
CREATE UNIQUE INDEX plot_current ON plot (phone_id) WHERE "current";

CREATE INDEX plot_by_phone ON plot (phone_id);

CREATE TABLE inbound (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    gateway VARCHAR(16) NOT NULL,
    message_id VARCHAR(128) NOT NULL,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    recipient VARCHAR(32) NOT NULL,
    body_hash VARCHAR(64) NOT NULL,
    text TEXT NOT NULL,
    received_at TIMESTAMP WITH TIME ZONE NOT NULL,
    reference INTEGER,
    part INTEGER NOT NULL,
    parts INTEGER NOT NULL,
    taken_at TIMESTAMP WITH TIME ZONE
);

-- A gateway's id means one text only, for ever: a late repeat is known.
CREATE UNIQUE INDEX inbound_by_gateway ON inbound (gateway, message_id);

CREATE INDEX inbound_waiting ON inbound (phone_id, reference) WHERE taken_at IS NULL;

-- Only ever added to.
CREATE TABLE consent (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    at TIMESTAMP WITH TIME ZONE NOT NULL,
    given BOOLEAN NOT NULL,
    words TEXT NOT NULL,
    channel VARCHAR(16) NOT NULL,
    purpose VARCHAR(16) NOT NULL,
    by VARCHAR(16) NOT NULL
);

CREATE INDEX consent_by_phone ON consent (phone_id, purpose, at);

CREATE TABLE review (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    at TIMESTAMP WITH TIME ZONE NOT NULL,
    words TEXT NOT NULL,
    channel VARCHAR(16) NOT NULL,
    settled_at TIMESTAMP WITH TIME ZONE
);

CREATE INDEX review_open ON review (at) WHERE settled_at IS NULL;

CREATE TABLE outbox (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    phone_id VARCHAR(32) NOT NULL REFERENCES phone (id),
    channel VARCHAR(16) NOT NULL,
    kind VARCHAR(16) NOT NULL,
    dedupe_key VARCHAR(160) NOT NULL,
    text TEXT NOT NULL,
    language VARCHAR(16) NOT NULL,
    encoding VARCHAR(8) NOT NULL,
    parts INTEGER NOT NULL,
    priority INTEGER NOT NULL,
    created_at TIMESTAMP WITH TIME ZONE NOT NULL,
    place INTEGER NOT NULL,
    not_before TIMESTAMP WITH TIME ZONE NOT NULL,
    not_after TIMESTAMP WITH TIME ZONE NOT NULL,
    next_try TIMESTAMP WITH TIME ZONE NOT NULL,
    sender VARCHAR(32) NOT NULL,
    state VARCHAR(16) NOT NULL,
    open BOOLEAN NOT NULL,
    attempts INTEGER NOT NULL,
    resends INTEGER NOT NULL,
    uncertain_since TIMESTAMP WITH TIME ZONE,
    lease_owner VARCHAR(32) NOT NULL,
    reason TEXT NOT NULL,
    settled_at TIMESTAMP WITH TIME ZONE
);

-- The same message planned twice is one message.
CREATE UNIQUE INDEX outbox_by_key ON outbox (dedupe_key);

CREATE INDEX outbox_due ON outbox (next_try) WHERE open;

CREATE INDEX outbox_urgent ON outbox (priority, not_before, created_at, place) WHERE open;

CREATE INDEX outbox_of_phone ON outbox (phone_id, not_before) WHERE open;

CREATE INDEX outbox_leased ON outbox (lease_owner) WHERE open;

CREATE INDEX outbox_settled ON outbox (settled_at);

-- The ids that a gateway gave to the parts of a message, where it does not go by ours.
CREATE TABLE submission (
    message_id VARCHAR(80) NOT NULL PRIMARY KEY,
    outbox_id VARCHAR(32) NOT NULL REFERENCES outbox (id),
    state VARCHAR(16) NOT NULL
);

CREATE INDEX submission_by_message ON submission (outbox_id);

CREATE TABLE receipt (
    id VARCHAR(32) NOT NULL PRIMARY KEY,
    message_id VARCHAR(80) NOT NULL,
    state VARCHAR(16) NOT NULL,
    at TIMESTAMP WITH TIME ZONE NOT NULL,
    received_at TIMESTAMP WITH TIME ZONE NOT NULL
);

CREATE UNIQUE INDEX receipt_once ON receipt (message_id, state);
