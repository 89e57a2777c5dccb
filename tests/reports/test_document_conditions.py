"""Documents print the conditions that a reader needs to compute a result again."""

from dataclasses import replace

from tests.reports.report_orders import many_layout, many_results, order, told
from viewer.reports.document.content import FigureBlock, Paragraph, TableBlock
from viewer.reports.result_json import result_object
from viewer.state.reporting.report_making import make_document


def lit_from_behind(result):
    used = replace(
        result.conditions,
        poa_global=968.0,
        effective_irradiance=1031.0,
        irradiance_from="irradiance sensor; plus 0.70 of 90 W/m² on the rear makes 1031 W/m²",
    )
    return replace(result, conditions=used)


def document(rear: bool):
    one = told(many_results(1, visits=1)[0])
    layout = many_layout(1)
    if rear:
        one = lit_from_behind(one)
        modules = {key: replace(m, bifaciality=0.7) for key, m in layout.modules.items()}
        layout = replace(layout, modules=modules)
    return make_document(order("warranty" if rear else "recommendations", (one,), layout))


def blocks(document, kind):
    return [b for one in document.sections for b in one.blocks if isinstance(b, kind)]


def test_light_from_behind_is_printed_wherever_a_result_is_computed_from_it():
    """A clerk who computed the prediction again from the light in front had 7 % less."""
    made = document(rear=True)
    tables = {one.name: one for one in blocks(made, TableBlock)}
    traced = tables["Strings traced, with their conditions"]
    titles = [one.title for one in traced.columns]
    assert traced.rows[0][titles.index("With rear (W/m²)")] == 1031.0
    datasheets = tables["Datasheets used"]
    assert datasheets.columns[-1].title == "Bifaciality"
    assert datasheets.rows[0][-1] == 0.7
    (figure,) = blocks(made, FigureBlock)
    assert "968 W/m² (1031 with the rear)" in figure.caption
    one = lit_from_behind(many_results(1, visits=1)[0])
    assert result_object(one)["conditions"]["effective_irradiance"] == 1031.0


def test_where_conditions_come_from_is_printed_with_each_string():
    said = [one.text for one in blocks(document(rear=True), Paragraph)]
    assert (
        "Irradiance: irradiance sensor; plus 0.70 of 90 W/m² on the rear makes 1031 W/m². "
        "Cell temperature: back of module plus 2.9 K." in said
    )


def test_without_light_from_behind_there_is_no_column_for_it():
    made = document(rear=False)
    titles = [c.title for table in blocks(made, TableBlock) for c in table.columns]
    assert "With rear (W/m²)" not in titles
    assert "Bifaciality" not in titles
    (figure,) = blocks(made, FigureBlock)
    assert "968 W/m², cells" in figure.caption
