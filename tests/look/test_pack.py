"""Every control renders with a label, its help and its errors tied to it, in the look of the product."""

import re

import pytest
from crispy_forms.bootstrap import AppendedText, PrependedText
from crispy_forms.helper import FormHelper
from crispy_forms.layout import Button, Layout, MultiField, Reset, Submit
from crispy_forms.utils import render_crispy_form
from django import forms
from django.template.loader import render_to_string

from tests.look.conftest import Page
from tests.look.sample_forms import PinForm, PointForm, ReadingsForm

WIDGETS = [
    *(forms.TextInput, forms.NumberInput, forms.EmailInput, forms.URLInput, forms.PasswordInput),
    *(
        forms.DateInput,
        forms.DateTimeInput,
        forms.TimeInput,
        forms.SplitDateTimeWidget,
        forms.SelectDateWidget,
    ),
    *(forms.Textarea, forms.Select, forms.NullBooleanSelect, forms.SelectMultiple, forms.RadioSelect),
    *(forms.CheckboxInput, forms.CheckboxSelectMultiple, forms.FileInput, forms.ClearableFileInput),
]
WITH_CHOICES = (forms.Select, forms.SelectMultiple, forms.RadioSelect, forms.CheckboxSelectMultiple)


def drawn(form: forms.BaseForm, helper: FormHelper | None = None) -> Page:
    """The whole form as the `{% crispy %}` tag gives it."""
    return Page(render_crispy_form(form, helper, {"csrf_token": "token"}))


def form_of(widget: type[forms.Widget], data: dict | None = None) -> forms.Form:
    """A form with one required field `thing` that has this widget, a help text and two choices if it can."""
    words = {"label": "Thing", "help_text": "Help.", "widget": widget}
    if issubclass(widget, WITH_CHOICES) and widget is not forms.NullBooleanSelect:
        field: forms.Field = forms.ChoiceField(choices=[("a", "Alder"), ("b", "Birch")], **words)
    else:
        field = forms.Field(**words)
    kind = type("OneField", (forms.Form,), {"thing": field})
    form = kind(data)
    form.helper = FormHelper(form)
    return form


def ids(text: str) -> list[str]:
    return re.findall(r'\sid="([^"]+)"', text)


@pytest.mark.parametrize("widget", WIDGETS)
def test_every_control_is_named_by_a_label_or_legend(widget: type[forms.Widget]) -> None:
    html = drawn(form_of(widget))
    assert "Thing" in html.words
    if "<legend>" in html:
        assert html.tags("fieldset")
    else:
        targets = set(re.findall(r'<label[^>]* for="([^"]+)"', html))
        assert targets
        assert targets <= set(ids(html))


@pytest.mark.parametrize("widget", WIDGETS)
def test_help_and_error_are_tied_to_their_control(widget: type[forms.Widget]) -> None:
    form = form_of(widget, {})
    form.add_error("thing", "Say which thing.") if not form.errors else None
    html = drawn(form)
    message = form.errors["thing"][0]
    assert html.count(f'<p class="error"><span>{message}</span></p>') == 1
    described = re.findall(r'aria-describedby="([^"]+)"', html)
    assert "id_thing_helptext id_thing_error" in described
    assert {"id_thing_helptext", "id_thing_error"} <= set(ids(html))
    assert 'aria-invalid="true"' in html


@pytest.mark.parametrize("widget", WIDGETS)
def test_the_summary_leads_to_the_control(widget: type[forms.Widget]) -> None:
    form = form_of(widget, {})
    form.add_error("thing", "Say which thing.") if not form.errors else None
    html = drawn(form)
    links = re.findall(r'<li><a href="#([^"]+)">Thing: ', html)
    assert links
    assert set(links) <= set(ids(html))


@pytest.mark.parametrize("form", [PointForm(), PointForm({}), ReadingsForm(), ReadingsForm({}), PinForm()])
def test_no_id_stands_twice_and_every_label_has_its_control(form: forms.Form) -> None:
    html = drawn(form)
    found = ids(html)
    assert len(found) == len(set(found))
    for target in re.findall(r'<label[^>]* for="([^"]+)"', html):
        assert target in found
    for described in re.findall(r'aria-describedby="([^"]+)"', html):
        assert set(described.split()) <= set(found)


def test_a_form_sends_by_post_with_its_token_and_our_own_words() -> None:
    tag = drawn(PointForm()).tags("form")[0]
    assert 'method="post"' in tag
    assert "novalidate" in tag
    assert 'enctype="multipart/form-data"' in tag
    assert drawn(PointForm()).count("csrfmiddlewaretoken") == 1


def test_a_form_without_its_tag_still_carries_the_token() -> None:
    form = PinForm()
    form.helper = FormHelper(form)
    form.helper.form_tag = False
    html = drawn(form)
    assert not html.tags("form")
    assert html.count("csrfmiddlewaretoken") == 1


def test_a_search_form_carries_no_token() -> None:
    form = PinForm()
    form.helper = FormHelper(form)
    form.helper.form_method = "get"
    assert "csrfmiddlewaretoken" not in drawn(form)


def test_optional_is_said_in_words_and_only_where_it_is() -> None:
    html = drawn(PointForm())
    assert "Reason (optional)" in html.words
    assert "Name (optional)" not in html.words
    assert "not with my own eyes (optional)" not in html.words


def test_numbers_bring_the_keypad_that_fits() -> None:
    html = drawn(PointForm())
    (cycles,) = re.findall(r'<input[^>]*name="cycles"[^>]*>', html)
    (pressure,) = re.findall(r'<input[^>]*name="pressure"[^>]*>', html)
    assert 'inputmode="numeric"' in cycles
    assert 'inputmode="decimal"' in pressure


def test_a_form_may_choose_its_own_keypad() -> None:
    class Signed(forms.Form):
        shift = forms.DecimalField(widget=forms.NumberInput(attrs={"inputmode": "text"}))

    html = drawn(Signed())
    assert 'inputmode="text"' in html


def test_a_reading_says_its_unit() -> None:
    html = drawn(ReadingsForm())
    assert html.count('<span class="unit">V</span>') == 10
    assert html.count('<span class="unit">bar</span>') == 1
    assert 'class="readings"' in html


def test_buttons_are_of_our_own_vocabulary() -> None:
    html = drawn(PointForm())
    buttons = {re.search(r'name="(\w+)"', tag)[1]: tag for tag in html.tags("button")}  # type: ignore[index]
    assert 'class="button primary"' in buttons["save"]
    assert "primary" not in buttons["later"]
    assert "quiet" in buttons["later"]
    assert "danger" in buttons["stop"]
    assert "primary" not in buttons["stop"]
    assert "btn" not in html
    assert '<input type="hidden" name="step" value="1"' in html


def test_the_remaining_layout_objects_render() -> None:
    class Small(forms.Form):
        a = forms.CharField()
        b = forms.CharField(required=False)
        c = forms.DecimalField()
        d = forms.CharField()

    form = Small({})
    form.helper = FormHelper()
    form.helper.layout = Layout(
        MultiField("Both", "a", "b"),
        PrependedText("c", "±"),
        AppendedText("d", "mm"),
        Button("x", "Look"),
        Reset("r", "Empty"),
    )
    form.helper.add_input(Submit("go", "Go"))
    html = drawn(form)
    assert "<legend>Both</legend>" in html
    assert html.index('<span class="unit before">±') < html.index('name="c"')
    assert 'type="button"' in html
    assert 'type="reset"' in html
    assert 'type="submit" name="go"' in html
    assert "btn" not in html


def test_what_is_wrong_with_the_whole_form_stands_at_its_top() -> None:
    class Whole(forms.Form):
        a = forms.CharField()

        def clean(self) -> dict:
            raise forms.ValidationError("The window ends before it begins.")

    form = Whole({"a": "x"})
    form.helper = FormHelper(form)
    html = drawn(form)
    assert "Not sent yet. Please look at this: The window ends before it begins." in html.words
    assert html.index("The window ends") < html.index('name="a"')


def test_a_set_of_forms_renders_below_each_other_and_as_a_table() -> None:
    class One(forms.Form):
        name = forms.CharField()
        count = forms.IntegerField()
        ref = forms.CharField(widget=forms.HiddenInput)

    formset = forms.formset_factory(One, extra=2)({"form-TOTAL_FORMS": "2", "form-INITIAL_FORMS": "2"})
    helper = FormHelper()
    assert drawn(formset, helper).count('class="fieldset"') == 2
    helper.template = "permits_pack/table_inline_formset.html"
    table = drawn(formset, helper)
    assert table.count("<tr>") == 3
    assert table.count('type="hidden" name="form-0-ref"') == 1
    assert 'name="form-TOTAL_FORMS"' in table


def test_text_in_labels_help_and_errors_is_escaped() -> None:
    class Sharp(forms.Form):
        a = forms.CharField(label="<b>", help_text="<i>")

    form = Sharp({})
    form.add_error("a", "<u>")
    html = drawn(form)
    assert not {"<b>", "<i>", "<u>"} & set(re.findall(r"<[biu]>", html))


def test_a_signature_stands_inside_the_pages_own_form() -> None:
    html = Page(render_to_string("components/signature.html", {"form": PinForm(), "meaning": "I accept."}))
    assert html.words.startswith("Sign I accept.")
    assert 'name="pin"' in html
    assert not html.tags("form")
