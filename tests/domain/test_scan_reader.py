"""What a real reader gives for codes that another library drew: zxing-cpp draws and reads them."""

from datetime import date
from uuid import UUID

import pytest
import zxingcpp

from service.domain.scan.read import read

TODAY = date(2026, 3, 2)
OURS = UUID("0198c1f2-0000-7000-8000-000000000001")


@pytest.mark.parametrize(
    ("form", "symbology"),
    [
        (zxingcpp.BarcodeFormat.DataMatrix, "]d2"),
        (zxingcpp.BarcodeFormat.QRCode, "]Q3"),
        (zxingcpp.BarcodeFormat.Code128, "]C1"),
    ],
)
def test_codes_of_gs1_are_understood_as_a_reader_gives_them(form: zxingcpp.BarcodeFormat, symbology: str) -> None:
    """GS1 DataMatrix, GS1 QR Code and GS1-128 are read with their symbology identifier and their separators."""
    drawn = zxingcpp.create_barcode("(01)09506000134352(17)271130(10)ABC123(21)SN-42", form, gs1=True)
    (given,) = zxingcpp.read_barcodes(drawn.to_image(scale=4, add_quiet_zones=True))
    said = read(given.symbology_identifier + given.bytes.decode(), TODAY, OURS)

    assert given.symbology_identifier == symbology
    assert given.bytes == b"01095060001343521727113010ABC123\x1d21SN-42"
    assert (said.form, said.faults) == ("gs1-element-string", ())
    assert (said.gtin, said.lot, said.serial) == ("09506000134352", "ABC123", "SN-42")
    assert said.expires == date(2027, 11, 30)
