"""The document of the gateway contract, held to the running service by generated requests."""

from __future__ import annotations

import signal
import warnings
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
import requests
import yaml
from hypothesis import HealthCheck, Phase, settings

with warnings.catch_warnings():
    # What the tool itself imports warns of its own future; ours is no matter of it.
    warnings.simplefilter("ignore")
    import schemathesis
    from schemathesis import checks

from service.gateways import signed_headers
from service.gateways.call_request import ALLOWED as CALL_ALLOWED
from service.gateways.sms_request import RECEIPT_ALLOWED, SMS_ALLOWED
from service.gateways.ussd_request import ALLOWED

DOCUMENT = Path(__file__).parents[2] / "docs" / "openapi.yaml"
SECRET = "a secret of the contract"
CONTRACT = yaml.safe_load(DOCUMENT.read_text("utf-8"))
# Every request is signed here; what happens without is tested where the signature is.
CONFIG = schemathesis.Config.from_dict(
    {"checks": {"negative_data_rejection": {"expected-statuses": [400, 413]}}}
)
SCHEMA = schemathesis.openapi.from_dict({**CONTRACT, "security": []}, config=CONFIG)


class Signed(requests.auth.AuthBase):
    """Signs whatever is sent, as a gateway does."""

    def __call__(self, request: requests.PreparedRequest) -> requests.PreparedRequest:
        body = request.body or b""
        raw = body.encode() if isinstance(body, str) else body
        request.headers.update(signed_headers(SECRET, raw, datetime.now(UTC)))
        return request


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory, new_server: Any) -> Iterator[Any]:
    server = new_server(
        tmp_path_factory.mktemp("openapi"), GATEWAY_SECRET=SECRET, WORKERS="1", SEND="no"
    )
    server.start()
    yield server
    server.end(signal.SIGTERM)


@SCHEMA.parametrize()
@settings(
    max_examples=100,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_every_answer_is_one_that_the_document_names(case: Any, service: Any) -> None:
    answer = case.call(base_url=service.url, auth=Signed())
    case.validate_response(
        answer,
        checks=[
            checks.not_a_server_error,
            checks.status_code_conformance,
            checks.content_type_conformance,
            checks.response_schema_conformance,
            checks.negative_data_rejection,
        ],
    )


def test_the_document_has_every_field_that_the_service_reads() -> None:
    schemas = CONTRACT["components"]["schemas"]
    for name, allowed in (
        ("UssdStep", ALLOWED),
        ("Text", SMS_ALLOWED),
        ("Receipt", RECEIPT_ALLOWED),
        ("Call", CALL_ALLOWED),
    ):
        assert set(schemas[name]["properties"]) == set(allowed)
