from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('plant', '0004_site_takes_tags_and_draws_its_own_lines'),
    ]

    operations = [
        migrations.AddField(
            model_name='procedure',
            name='choice',
            field=models.JSONField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name='procedure',
            name='keep_live',
            field=models.JSONField(blank=True, default=list),
        ),
    ]
