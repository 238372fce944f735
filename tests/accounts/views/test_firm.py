"""The page of a firm's people."""

import re

from django.urls import reverse

from accounts.calc.roles import Role


def test_each_person_has_a_list_of_roles_with_their_own_chosen(client, firm):
    client.force_login(firm.admin)

    html = client.get(reverse("accounts:firm")).content.decode()

    members = {str(one.pk): one.role for one in firm.organisation.memberships.all()}
    lists = re.findall(r'<select name="role"\s+id="role-([^"]+)"[^>]*>(.*?)</select>', html, re.DOTALL)
    chosen = {pk: re.findall(r'value="(\d+)" selected', options) for pk, options in lists}
    assert chosen == {pk: [str(role)] for pk, role in members.items()}
    assert all(f'for="role-{pk}"' in html for pk in members)
    assert f'value="{Role.OWNER.value}"' not in html
