from service.domain.looser import model_looser
from tests.domain.units import model


def test_a_model_defined_alike_asks_for_nothing_less() -> None:
    """A point that still withdraws is as strict as before; one that no longer does is not."""
    assert list(model_looser(model(), model())) == []
    laxer = [{"point": "airflow", "role": "airflow", "required": True, "on_fail": "recheck"}]
    strict = [{**laxer[0], "on_fail": "withdraw"}]
    assert list(model_looser(model(points=laxer), model(points=strict))) == ["points"]
    assert list(model_looser(model(points=strict), model(points=laxer))) == []
