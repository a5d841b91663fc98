"""Plots kept before the columns of district and crop are found by them as well.

Since 0004 whoever keeps a plot writes both, so only those still empty are filled in.
"""

from alembic import op

revision = "0006"
down_revision = "0005"

_SQLITE = """
UPDATE plot SET
    district = coalesce(substr(json_extract(answers, '$.district'), 1, 64), ''),
    crop = coalesce(substr(json_extract(answers, '$.crop'), 1, 64), '')
WHERE district = '' AND crop = ''
"""
_POSTGRESQL = """
UPDATE plot SET
    district = coalesce(left(answers::json ->> 'district', 64), ''),
    crop = coalesce(left(answers::json ->> 'crop', 64), '')
WHERE district = '' AND crop = ''
"""


def upgrade() -> None:
    connection = op.get_bind()
    # Straight to the driver: a colon in these texts is no parameter.
    connection.exec_driver_sql(_SQLITE if connection.dialect.name == "sqlite" else _POSTGRESQL)
