from django.urls import path

from fieldwork.views import contacts, entries

app_name = "fieldwork"

urlpatterns = [
    path("field/entries/<uuid:entry>/", entries.field_entry, name="field-entry"),
    path("field/contact/", contacts.field_contact, name="field-contact"),
    path("field/who/", entries.field_who, name="field-who"),
]
