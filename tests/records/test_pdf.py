import re

import pytest

from assistant.errors import CaseError
from assistant.records import PAGES, pdf, sheet_pdf
from tests.records.examples import DABCHICK, GREBE, sheet


def test_without_the_packages_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    def absent(name: str) -> None:
        raise ImportError(name)

    monkeypatch.setattr(pdf, "import_module", absent)
    with pytest.raises(
        CaseError, match=r"reportlab.*not installed; install leadline\[pdf\], or export as html"
    ):
        sheet_pdf(sheet(DABCHICK))


@pytest.mark.parametrize("paper", sorted(PAGES))
@pytest.mark.parametrize("name", [DABCHICK, GREBE])
def test_it_is_one_or_two_pages_of_that_paper(name: str, paper: str) -> None:
    pytest.importorskip("reportlab", reason="the extra for PDF is not installed")
    pytest.importorskip("svglib", reason="the extra for PDF is not installed")
    data = sheet_pdf(sheet(name), paper)
    assert data.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type /Page\b", data)) in {1, 2}
    width = re.search(rb"/MediaBox \[\s*0 0 ([\d.]+)", data)
    assert width is not None
    assert float(width[1]) == pytest.approx(PAGES[paper][0], abs=0.1)
    assert sheet_pdf(sheet(name), paper) == data
