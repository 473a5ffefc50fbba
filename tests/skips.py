"""Skips that are known: the test, and why it may be skipped. Where CI is set, any other skip fails the run."""

KNOWN: dict[str, str] = {
    "tests/commands/test_embedded.py::test_as_root_only_the_cluster_changes_hands": "run by an ordinary user",
    "tests/commands/test_embedded.py::test_as_root_binaries_in_a_closed_folder_cannot_be_run": "run by a plain user",
    "tests/commands/test_embedded.py::test_as_root_a_closed_folder_is_left_closed": "run by an ordinary user",
    "tests/faults/test_disk_full.py::test_a_full_disk_loses_nothing_and_is_told_to_come_back": "no right to mount",
    **{
        f"tests/{name}": "the published schema of EPCIS comes by npm, which gave nothing"
        for name in (
            "outbound/test_epcis_schema.py::test_every_kind_is_valid_under_the_published_schema",
            "outbound/test_epcis_schema.py::test_a_document_in_pieces_is_valid_under_the_published_schema",
            "outbound/test_epcis_schema.py::test_anything_posted_is_valid_under_the_published_schema",
            "outbound/test_epcis_schema.py::test_the_published_schema_bites",
            "http/test_handed_on.py::test_a_history_is_valid_under_the_published_schema",
            "use/test_handed_on.py::test_a_random_history_is_valid_under_the_published_schema",
        )
    },
    **{
        f"tests/outbound/test_ubl_schemas.py::{name}": "the published schemas of UBL come by pip, which gave nothing"
        for name in (
            "test_schemas_are_the_published_ones",
            "test_every_document_is_valid",
            "test_nothing_mandatory_may_be_left_out",
            "test_anything_written_is_valid_and_read_back",
            "test_table_is_as_the_schemas_are",
        )
    },
    "tests/outbound/test_ubl_ordered.py::test_an_order_is_valid": (
        "the published schemas of UBL come by pip, which gave nothing"
    ),
    "tests/outbound/test_ubl_arrivals.py::test_stock_is_a_receipt_for_its_supplier": (
        "the published schemas of UBL come by pip, which gave nothing"
    ),
    "tests/http/test_reorder_documents.py::test_an_order_is_valid_under_the_published_schema": (
        "the published schemas of UBL come by pip, which gave nothing"
    ),
    "tests/readme/test_readme.py::test_readme_answers_as_it_says": "no curl on this machine",
}
